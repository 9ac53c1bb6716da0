"""What a keeper may settle about a file, and what was read from it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from nestwatch.season.incubation.records import Series

Order = Literal["day-first", "month-first", "year-first"]
Unit = Literal["c", "f"]
Decimal = Literal["point", "comma"]


@dataclass(frozen=True, slots=True)
class Choices:
    """What the keeper said of the file; None: to be told from the file, or asked for.

    `clock`: `local` (as the site's clocks), `utc`, or a fixed offset such as `+01:00`. `column`,
    `humidity_column`: heading or number (from 1).
    """

    order: Order | None = None
    unit: Unit | None = None
    decimal: Decimal | None = None
    clock: str | None = None
    column: str | None = None
    humidity_column: str | None = None


@dataclass(frozen=True, slots=True)
class Stamp:
    """A date and time as its digits say: `parts` in the order of the file, `year_at` the place of a year
    told by its four digits (None: of two). `offset_s` seconds ahead of UTC, None where none is written."""

    parts: tuple[int, int, int]
    year_at: int | None
    clock: tuple[int, int, int]
    offset_s: int | None


@dataclass(frozen=True, slots=True)
class Row:
    """One line with a date: its number in the file, stamp and values as text (None: left empty).

    `beside`: what is read with the temperature, of a logger the humidity.
    """

    line: int
    stamp: Stamp
    celsius: str | None
    beside: str | None


@dataclass(frozen=True, slots=True)
class Beside:
    """The column to be read with the temperature: by `headed` where one heading fits, or as `chosen` (heading
    or number from 1) with `option`."""

    headed: re.Pattern[str]
    chosen: str | None
    option: str


@dataclass(frozen=True, slots=True)
class Log:
    """Readings of one file, ascending. `how`: what was told from what; `left_out`: what could not be used."""

    series: Series
    how: tuple[str, ...]
    left_out: tuple[str, ...]
    first: datetime
    last: datetime
