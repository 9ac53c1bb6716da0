"""Which column is what: the lines before the table, its header, date, temperature, and one beside it."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import pairwise

from nestwatch.errors import EntryError
from nestwatch.season.incubation.logger.dates import IS_CLOCK, IS_DATE, stamp
from nestwatch.season.incubation.logger.decimals import NUMBER
from nestwatch.season.incubation.logger.records import Beside
from nestwatch.season.incubation.logger.text import Line
from nestwatch.site.names import did_you_mean

_TEMPERATURE = re.compile(r"temp|°\s*[cf]\b|celsius|fahrenheit|^t\s*[(\[]")
HUMIDITY = re.compile(r"hum|\brh\b|feucht|\bh\.?r\.?\b|vochtig")
_NEITHER = re.compile(r"dew|taupunkt|ros[eé]e|heat index|vpd|set ?point")


@dataclass(frozen=True, slots=True)
class Columns:
    """Places of columns from 0. `clock` None: date and time stand in one field. `beside` None: none."""

    date: int
    clock: int | None
    temperature: int
    beside: int | None

    def stamp_text(self, parts: Sequence[str]) -> str:
        """Date and time of a line."""
        found = field(parts, self.date) or ""
        return found if self.clock is None else f"{found} {field(parts, self.clock) or ''}"


def field(parts: Sequence[str], place: int | None) -> str | None:
    """A field, None where the line has none or it is empty."""
    return parts[place] or None if place is not None and place < len(parts) else None


def stamp_columns(parts: Sequence[str]) -> tuple[int, int | None] | None:
    """(date, clock) of a line with a reading, None for any other line."""
    for place, text in enumerate(parts):
        if stamp(text) is not None:
            return place, None
        if IS_DATE.fullmatch(text):
            clock = next((k for k, each in enumerate(parts) if k != place and IS_CLOCK.fullmatch(each)), None)
            if clock is not None:
                return place, clock
    return None


def header_before(lines: Sequence[Line], first: int) -> list[str] | None:
    """The line just before the first reading (at place `first`), None where it is no header."""
    if first == 0:
        return None
    parts = lines[first - 1][1]
    wordy = sum(bool(re.search(r"[^\W\d]", part)) for part in parts)
    return parts if len(parts) >= 2 and wordy >= 2 else None


def choose_columns(
    header: list[str] | None, rows: Sequence[Line], column: str | None, beside: Beside
) -> Columns:
    """The columns by the header, by what stands in them, or as chosen. Raises `EntryError` for a tie.

    `column`: of the temperature, as the keeper chose it.
    """
    found = stamp_columns(rows[0][1])
    assert found is not None
    taken = {place for place in found if place is not None}
    second = _chosen(header, rows, beside.chosen, beside.option)
    chosen = _chosen(header, rows, column, "--column")
    if second is None:
        second = _only(headed(header, beside.headed, taken))
    if chosen is None:
        chosen = _temperature(header, rows, taken | ({second} if second is not None else set()))
    return Columns(*found, chosen, second)


def _temperature(header: list[str] | None, rows: Sequence[Line], taken: set[int]) -> int:
    named = headed(header, _TEMPERATURE, taken)
    places = named or _numbers(rows, taken)
    if len(places) == 1:
        return places[0]
    if not places:
        raise EntryError("no column holds temperatures; say which with --column.")
    told = ", ".join(_name(header, place) for place in places)
    raise EntryError(
        f"several columns may be the temperature ({told}): say which with --column, and read the file once "
        "for each probe."
    )


def headed(header: list[str] | None, words: re.Pattern[str], taken: Collection[int] = ()) -> list[int]:
    """Places of columns whose heading holds one of the words, without those taken and what only sounds so."""
    if header is None:
        return []
    plain = [text.casefold() for text in header]
    return [
        k
        for k, text in enumerate(plain)
        if k not in taken and words.search(text) and not _NEITHER.search(text)
    ]


def _numbers(rows: Sequence[Line], taken: set[int]) -> list[int]:
    """Columns of numbers, a running number left out."""
    sample = [parts for _, parts in rows[:200]]
    width = max(len(parts) for parts in sample)
    found = []
    for k in range(width):
        values = [text for parts in sample if (text := field(parts, k)) is not None]
        if k not in taken and values and all(NUMBER.fullmatch(text) for text in values):
            found += [] if _counts(values) else [k]
    return found


def _counts(values: Sequence[str]) -> bool:
    """Whether values are a running number: whole, each one more than the last."""
    if len(values) < 3 or not all(re.fullmatch(r"\d+", text) for text in values):
        return False
    numbers = [int(text) for text in values]
    return all(b - a == 1 for a, b in pairwise(numbers))


def _chosen(header: list[str] | None, rows: Sequence[Line], told: str | None, option: str) -> int | None:
    if told is None:
        return None
    names = [text.casefold() for text in header or []]
    if told.strip().casefold() in names:
        return names.index(told.strip().casefold())
    width = max(len(parts) for _, parts in rows)
    if told.isdigit() and 1 <= int(told) <= width:
        return int(told) - 1
    hint = did_you_mean(told, header or []) or f"; the file has {width} columns."
    raise EntryError(f'there is no column "{told}" ({option}){hint}')


def _name(header: list[str] | None, place: int) -> str:
    named = header is not None and place < len(header) and header[place]
    return f'{place + 1} "{named}"' if named else f"{place + 1}"


def _only(places: list[int]) -> int | None:
    return places[0] if len(places) == 1 else None
