"""The weather of the season's nights, from a file that the keeper has. Pure.

Any text file with date, time, temperature and, where there is one, rain. It is read by the steps that read
loggers' files; what cannot be told from it is asked for.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal, get_args
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from nestwatch.errors import EntryError
from nestwatch.season.incubation.logger import columns, decimals, units
from nestwatch.season.incubation.logger.read import NO_TEMPERATURE, Lines, instants_of, read_lines
from nestwatch.season.incubation.logger.records import Beside, Choices, Decimal, Unit
from nestwatch.season.tally.records import Weather

Floats = NDArray[np.float64]
RainUnit = Literal["mm", "in"]
RAIN_UNITS: tuple[RainUnit, ...] = get_args(RainUnit)
MM_PER_INCH = 25.4

LIKELY_C = (5.0, 35.0)
"""The middle of the temperatures in a nesting season lies between these (judgement, no source). As degrees
Fahrenheit they are 41 to 95, so a file's middle value fits at most one unit."""
POSSIBLE_C = (-15.0, 45.0)
"""A middle value outside these is of another unit than the file says (judgement, no source)."""
LONGEST_STEP_S = 3 * 3600.0
"""Rows further apart tell too little of one night's nesting hours (judgement, no source)."""
_GROWTH = 10
"""Rain that grew on so many rows, and fell back to nothing only, is a running total (judgement)."""
_RAIN = "rain|precip|regen|niederschl|pluie|précip|neerslag|lluvia|opad"
_AMOUNT = re.compile(rf"^(?!.*(?:rate|intens|per hour|/\s*h\b)).*(?:{_RAIN})")
_MM, _INCH = re.compile(r"\bmm\b|\bl/m"), re.compile(r"\bin\b|inch|\"")


@dataclass(frozen=True, slots=True)
class WeatherChoices:
    """What the keeper said of the file, and of its rain; None: to be told from the file."""

    file: Choices = field(default_factory=Choices)
    rain_column: str | None = None
    rain_unit: RainUnit | None = None


@dataclass(frozen=True, slots=True, eq=False)
class WeatherLog:
    """A weather file: `seconds` since 1970 UTC, ascending, `celsius`, and `rain_mm` that fell since the row
    before, NaN where not told, all of shape (n,). `how` it was read; `left_out`: what could not be used."""

    seconds: Floats
    celsius: Floats
    rain_mm: Floats
    how: tuple[str, ...]
    left_out: tuple[str, ...]

    def between(self, start: datetime, end: datetime) -> Weather | None:
        """The weather from `start` to `end`: the mean temperature and the sum of the rain.

        Each is None where rows are missing: further apart than 1.5 times the file's usual step (an hour at
        least), or where that step is longer than 3 h. None where both are.
        """
        span = (start.timestamp(), end.timestamp())
        celsius = _inside(self.seconds, self.celsius, span)
        # A row's rain fell before it.
        rain = _inside(self.seconds, self.rain_mm, span, after_start=True)
        if celsius is None and rain is None:
            return None
        mean = None if celsius is None else float(celsius.mean())
        return Weather(mean, None if rain is None else float(rain.sum()))


def _inside(
    seconds: Floats, values: Floats, span: tuple[float, float], *, after_start: bool = False
) -> Floats | None:
    """The values told inside a span; None where rows are missing there."""
    told = np.isfinite(values)
    at = seconds[told]
    if len(at) < 2:
        return None
    step = float(np.median(np.diff(at)))
    here = (at > span[0] if after_start else at >= span[0]) & (at <= span[1])
    apart = np.diff(np.concatenate([[span[0]], at[here], [span[1]]]))
    if not here.any() or step > LONGEST_STEP_S or apart.max() > 1.5 * max(step, 3600.0):
        return None
    return values[told][here]


def read_weather(
    content: bytes, zone: ZoneInfo, now: datetime, choices: WeatherChoices | None = None
) -> WeatherLog:
    """A weather file's rows. `zone`: the site's; `now`: aware.

    Raises `EntryError`, also for whatever cannot be told from the file: the message names the option.
    """
    said = choices or WeatherChoices()
    lines = read_lines(content, said.file, Beside(_AMOUNT, said.rain_column, "--rain-column"))
    _refuse_tie(lines)
    values = [text for row in lines.rows for text in (row.celsius, row.beside) if text]
    decimal, by_decimal = decimals.decide_decimal(values, said.file.decimal)
    rows, at, by_order, by_clock = instants_of(lines.rows, zone, now, said.file)
    celsius, by_unit = _celsius(lines, [row.celsius for row in rows], decimal, said.file.unit)
    rain, by_rain = _rain_mm(lines, [row.beside for row in rows], decimal, said.rain_unit)
    seconds, first = np.unique([each.timestamp() for each in at], return_index=True)
    how = (lines.delimiter, by_decimal, by_order, by_unit, by_rain, by_clock)
    left_out = (*lines.left_out, *_doubled(len(at) - len(seconds)))
    return WeatherLog(seconds, celsius[first], rain[first], how, left_out)


def _doubled(more: int) -> list[str]:
    return [f"{more} row{'s' if more > 1 else ''} of an instant that was read already"] if more else []


def _numbers(texts: Sequence[str | None], decimal: Decimal) -> Floats:
    found = (decimals.number(text, decimal) for text in texts)
    return np.array([np.nan if value is None else value for value in found], dtype=np.float64)


def _celsius(
    lines: Lines, texts: Sequence[str | None], decimal: Decimal, chosen: Unit | None
) -> tuple[Floats, str]:
    read = _numbers(texts, decimal)
    told = read[np.isfinite(read)]
    if not len(told):
        raise EntryError(NO_TEMPERATURE)
    heading = columns.field(lines.header or (), lines.where.temperature)
    sample = next(text for text in texts if decimals.number(text, decimal) is not None) or ""
    unit, why = units.decide_unit(
        told.tolist(), heading, sample, chosen, likely=LIKELY_C, what="the air of a nesting season"
    )
    celsius = np.array([units.to_celsius(float(value), unit) for value in read])
    middle = float(np.nanmedian(celsius))
    if not POSSIBLE_C[0] <= middle <= POSSIBLE_C[1] and chosen is None:
        other = "f" if unit == "c" else "c"
        raise EntryError(
            f"by the file's own unit half of the temperatures lie above {middle:.0f} °C, which no nesting "
            f"season has; say --unit {other} if that is what they are in, or --unit {unit} if they are right."
        )
    return celsius, why


def _refuse_tie(lines: Lines) -> None:
    """Raises `EntryError` where several columns may be the rain."""
    if lines.where.beside is not None or lines.header is None:
        return
    places = columns.headed(lines.header, _AMOUNT)
    if len(places) > 1:
        told = ", ".join(f'{place + 1} "{lines.header[place]}"' for place in places)
        raise EntryError(f"several columns may be the rain ({told}): say which with --rain-column.")


def _rain_mm(
    lines: Lines, texts: Sequence[str | None], decimal: Decimal, chosen: RainUnit | None
) -> tuple[Floats, str]:
    if lines.where.beside is None:
        return np.full(len(texts), np.nan), "no column of rain"
    rain = _numbers(texts, decimal)
    _refuse_impossible(rain)
    unit, why = _rain_unit(columns.field(lines.header or (), lines.where.beside) or "", rain, chosen)
    return rain * (MM_PER_INCH if unit == "in" else 1.0), why


def _rain_unit(heading: str, rain: Floats, chosen: RainUnit | None) -> tuple[RainUnit, str]:
    """Millimetres or inches, as chosen or as the heading says. Raises `EntryError` where nothing tells."""
    if chosen is not None:
        return chosen, "rain in " + ("mm" if chosen == "mm" else "inches") + ", as you said"
    plain = heading.casefold()
    if _MM.search(plain):
        return "mm", "rain in mm, by the file"
    if _INCH.search(plain):
        return "in", "rain in inches, by the file"
    if not np.nansum(rain):
        return "mm", "no rain"
    raise EntryError("the file does not say the unit of its rain; say --rain-unit mm or --rain-unit in.")


def _refuse_impossible(rain: Floats) -> None:
    """Raises `EntryError` for less than no rain, and for a running total in place of amounts."""
    told = rain[np.isfinite(rain)]
    if (told < 0).any():
        raise EntryError("the rain is below 0 in places; say --rain-column, or mend the file.")
    if _is_total(told):
        raise EntryError(
            "the rain only ever grows, so it seems to be a running total; export the rain of each row, or "
            "say another --rain-column."
        )


def _is_total(rain: Floats) -> bool:
    before, after = rain[:-1], rain[1:]
    growth = ((before > 0) & (after > before)).sum()
    falls, resets = (after < before).sum(), ((after < before) & (after == 0)).sum()
    return bool(growth >= _GROWTH and falls == resets and growth >= 2 * resets)
