"""A logger's file read, top to bottom: fields, columns, dates, numbers, unit, instants.

The weather's file (`season.tally.weather`) is read by the same steps, with the rain beside the temperature.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from nestwatch.errors import EntryError
from nestwatch.season.incubation.logger import clock, columns, dates, decimals, text, units
from nestwatch.season.incubation.logger.records import Beside, Choices, Decimal, Log, Row, Unit
from nestwatch.season.incubation.records import Series

NO_TEMPERATURE = "no line has both a date and a temperature; say --column, or --decimal comma or point."


def read_log(content: bytes, zone: ZoneInfo, now: datetime, choices: Choices | None = None) -> Log:
    """Readings of a file. `zone`: the site's; `now`: aware.

    Raises `EntryError`, also for whatever cannot be told from the file: the message names the option.
    """
    said = choices or Choices()
    table = read_lines(content, said, Beside(columns.HUMIDITY, said.humidity_column, "--humidity-column"))
    decimal, by_decimal = decimals.decide_decimal([row.celsius or "" for row in table.rows], said.decimal)
    good = [row for row in table.rows if decimals.number(row.celsius, decimal) is not None]
    if not good:
        raise EntryError(NO_TEMPERATURE)
    unit, by_unit = units.decide_unit(
        [decimals.number(row.celsius, decimal) or 0.0 for row in good],
        columns.field(table.header or (), table.where.temperature),
        good[0].celsius or "",
        said.unit,
    )
    ordered, at, by_order, by_clock = instants_of(good, zone, now, said)
    left_out = (*table.left_out, *_empty(table.rows, good))
    series, doubled = _series(ordered, at, decimal, unit)
    how = (table.delimiter, by_decimal, by_order, by_unit, by_clock)
    first, last = (datetime.fromtimestamp(float(series.seconds[k]), UTC) for k in (0, -1))
    return Log(series, how, (*left_out, *doubled), first, last)


@dataclass(frozen=True, slots=True)
class Lines:
    """The lines of a file that have a date: `header` None where there is none; `delimiter` in words;
    `left_out`: lines after the first of them that have no date, in words."""

    rows: list[Row]
    header: list[str] | None
    where: columns.Columns
    delimiter: str
    left_out: tuple[str, ...]


def read_lines(content: bytes, said: Choices, beside: Beside) -> Lines:
    """The lines of a file, their columns told. Raises `EntryError`."""
    lines, delimiter = text.fields(text.decoded(content))
    start = next((k for k, (_, parts) in enumerate(lines) if columns.stamp_columns(parts)), None)
    if start is None:
        raise EntryError("no line holds a date with its time; export both for every reading.")
    header = columns.header_before(lines, start)
    body = lines[start:]
    if delimiter == "commas":
        dated = [line for line in body if columns.stamp_columns(line[1])]
        body = decimals.mend_commas(dated, None if header is None else len(header), said.decimal)
    where = columns.choose_columns(header, body, said.column, beside)
    strange = tuple(_strange(lines[start:], body))
    return Lines(_rows(body, where), header, where, f"fields between {delimiter}", strange)


def _rows(body: Sequence[text.Line], where: columns.Columns) -> list[Row]:
    rows = []
    for line, parts in body:
        told = dates.stamp(where.stamp_text(parts))
        if told is not None:
            values = (columns.field(parts, place) for place in (where.temperature, where.beside))
            rows.append(Row(line, told, *values))
    return rows


def _strange(before: Sequence[text.Line], body: Sequence[text.Line]) -> list[str]:
    """Lines after the first reading that have no date."""
    known = {line for line, parts in body if columns.stamp_columns(parts)}
    strange = [line for line, _ in before if line not in known]
    if not strange:
        return []
    return [f"{_lines(strange)} without a date that can be read"]


def _empty(rows: Sequence[Row], good: Sequence[Row]) -> list[str]:
    known = {row.line for row in good}
    empty = [row.line for row in rows if row.line not in known]
    return [f"{_lines(empty)} without a temperature"] if empty else []


def _lines(numbers: Sequence[int]) -> str:
    shown = ", ".join(str(number) for number in numbers[:3]) + (", ..." if len(numbers) > 3 else "")
    return f"{len(numbers)} line{'s' if len(numbers) > 1 else ''} ({shown})"


def instants_of(
    rows: list[Row], zone: ZoneInfo, now: datetime, said: Choices
) -> tuple[list[Row], list[datetime], str, str]:
    """Rows oldest first with their instants; how the order of dates and the clock were told.

    Raises `EntryError`, also for a last row that is still to come.
    """
    local = now.astimezone(zone).replace(tzinfo=None)
    order, why = dates.decide_order([row.stamp for row in rows], local, said.order)
    walls = [wall for row in rows if (wall := dates.wall(row.stamp, order)) is not None]
    if len(walls) > 1 and walls[0] > walls[-1]:
        rows, walls = rows[::-1], walls[::-1]
    offsets = [row.stamp.offset_s for row in rows]
    if all(offset is not None for offset in offsets):
        shifts = [timedelta(seconds=offset or 0) for offset in offsets]
        at = [(wall - shift).replace(tzinfo=UTC) for wall, shift in zip(walls, shifts, strict=True)]
        by_clock = "clock as written in the file"
    else:
        at, by_clock = clock.instants(walls, zone, said.clock)
    if max(at) > now + timedelta(minutes=5):
        raise EntryError(
            f"the last reading ({max(at).astimezone(zone):%Y-%m-%d %H:%M}) is still to come; check "
            "the logger's clock, or say --clock."
        )
    return rows, at, why, by_clock


def _series(
    rows: Sequence[Row], at: Sequence[datetime], decimal: Decimal, unit: Unit
) -> tuple[Series, list[str]]:
    """Readings by time; of several at one instant the first is kept, and that is told."""
    seconds = np.array([each.timestamp() for each in at])
    read = [units.to_celsius(decimals.number(row.celsius, decimal) or 0.0, unit) for row in rows]
    moist = [decimals.number(row.beside, decimal) for row in rows]
    humidity = np.array([np.nan if value is None else value for value in moist], dtype=np.float64)
    once, which = np.unique(seconds, return_index=True)
    more = len(seconds) - len(once)
    told = [f"{more} reading{'s' if more > 1 else ''} of an instant that was read already"] if more else []
    return Series(once, np.array(read)[which], humidity[which]), told
