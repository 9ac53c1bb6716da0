"""A month of nights as a calendar's weeks: told by shapes and words, never by colour alone. Pure."""

from __future__ import annotations

import calendar
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from nestwatch.season.records import CalendarNight

ENOUGH = 0.5
"""A night of which no camera read this share of nesting hours has no usable footage (our own choice)."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One day of the calendar. `inside`: of this month. `known`: the record has the night.

    `blind`: no usable footage and nobody watched; `partly`: less than all of nesting hours was read."""

    day: date
    inside: bool
    known: bool
    nests: int
    open: int
    digs: int
    blind: bool
    partly: bool
    watched: bool

    @property
    def words(self) -> str:
        """What the shapes say, for people who do not see them."""
        if not self.known:
            return "nothing recorded here"
        told = [
            f"{self.nests} nest{'' if self.nests == 1 else 's'}" if self.nests else "",
            f"{self.open} still to be settled" if self.open else "",
            "no usable footage" if self.blind else "part of the night not seen" if self.partly else "",
            "watched by eye" if self.watched else "",
        ]
        return ", ".join(text for text in told if text) or ("digs, all settled" if self.digs else "no dig")


def month_span(year: int, month: int) -> tuple[date, date]:
    """First and last day shown: whole weeks, from Monday to Sunday."""
    days = calendar.Calendar().monthdatescalendar(year, month)
    return days[0][0], days[-1][-1]


def weeks(year: int, month: int, nights: Sequence[CalendarNight]) -> list[list[Cell]]:
    """The month's weeks with what the record has of each night."""
    known = {night.date: night for night in nights}
    rows = calendar.Calendar().monthdatescalendar(year, month)
    return [[_cell(day, month, known.get(day)) for day in row] for row in rows]


def next_month(year: int, month: int, by: int) -> tuple[int, int]:
    """(year, month) `by` months later."""
    years, rest = divmod(12 * year + month - 1 + by, 12)
    return years, rest + 1


def _cell(day: date, month: int, night: CalendarNight | None) -> Cell:
    inside = day.month == month
    if night is None:
        return Cell(day, inside, False, 0, 0, 0, False, False, False)
    seen = night.seen or 0.0
    blind = seen < ENOUGH and not night.watched
    return Cell(
        day,
        inside,
        True,
        night.nests,
        night.open,
        night.digs,
        blind,
        not blind and seen < 0.99,
        night.watched,
    )
