"""Each female's clutches of the year, the days between them, and whether another is due. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from nestwatch.season.incubation.sources import Span
from nestwatch.season.records import Clutch
from nestwatch.season.second_clutch import (
    SPREAD,
    Laying,
    Typical,
    intervals,
    laying_nights,
    next_window,
    typical_days,
)
from nestwatch.season.tally.records import FemaleSeason
from nestwatch.season.years import Dates, same_day

Due = tuple[Dates | None, str]
"""(first, last) date, None where nothing is to be expected, and why."""


@dataclass(frozen=True, slots=True)
class Calendar:
    """The year that is told, and now.

    `season`: of that year, None where the site file names none; `year_of` a night; `today`: the site's date;
    `species`: days from one clutch to the next by the species profile.
    """

    year: int
    season: Dates | None
    today: date
    year_of: Callable[[date], int]
    species: Span | None


def females_of(
    names: Iterable[str], clutches: Sequence[Clutch], calendar: Calendar
) -> tuple[FemaleSeason, ...]:
    """Every female, also those without a clutch this year. `clutches`: of all years."""
    laying = laying_nights(clutches)
    return tuple(_female(name, clutches, laying, calendar) for name in names)


def _female(name: str, clutches: Sequence[Clutch], laying: Laying, calendar: Calendar) -> FemaleSeason:
    nights = [night for night in laying.get(name, ()) if calendar.year_of(night) == calendar.year]
    own = [each for each in clutches if each.female == name and calendar.year_of(each.night) == calendar.year]
    counted = [each.eggs.total for each in own if each.eggs.total is not None]
    typical = typical_days(laying, name, calendar.year, calendar.species, calendar.year_of)
    due, why = _due(nights, _firsts(laying.get(name, ()), calendar), typical, calendar)
    return FemaleSeason(
        name=name,
        clutches=tuple(nights),
        eggs=sum(counted) if counted or not own else None,
        days_between=intervals(nights, calendar.year_of),
        typical_days=None if typical is None else (typical.low, typical.high),
        typical_by=None if typical is None else typical.by,
        due=due,
        is_due=due is not None and due[0] <= calendar.today,
        why=why,
    )


def _firsts(nights: Sequence[date], calendar: Calendar) -> tuple[date, ...]:
    """Her first night of each earlier year."""
    first: dict[int, date] = {}
    for night in nights:
        first.setdefault(calendar.year_of(night), night)
    return tuple(night for year, night in first.items() if year < calendar.year)


def _due(nights: Sequence[date], firsts: Sequence[date], typical: Typical | None, calendar: Calendar) -> Due:
    season = calendar.season
    if calendar.year_of(calendar.today) != calendar.year:
        return None, f"the year {calendar.year} is over"
    if season is not None and calendar.today > season[1]:
        return None, f"the nesting season ended on {season[1]}"
    if not nights:
        return _before_the_first(firsts, calendar)
    if typical is None:
        return None, "how soon she may lay again is known neither of this site's females nor of the species"
    window = next_window(nights[-1], typical, season)
    if window is None:
        return None, f"{typical.words} after {nights[-1]} the nesting season is over"
    return _ahead(
        window, f"{typical.words} after {nights[-1]}, by {typical.by}, a week either side", calendar
    )


def _ahead(window: Dates, why: str, calendar: Calendar) -> Due:
    if calendar.today > window[1]:
        return None, f"none came from {window[0]} to {window[1]} ({why})"
    return window, why


def _in_this_year(night: date, calendar: Calendar) -> date:
    """The same day of the calendar in the year that is told; it may lie after new year in both."""
    return same_day(calendar.year + night.year - calendar.year_of(night), night.month, night.day)


def _before_the_first(firsts: Sequence[date], calendar: Calendar) -> Due:
    """The first clutch of the year, by when it came in her own earlier years."""
    if not firsts:
        return None, "no clutch of hers is on record to go by"
    days = [_in_this_year(night, calendar) for night in firsts]
    window = (min(days) - SPREAD, max(days) + SPREAD)
    years = f"{len(firsts)} earlier year{'s' if len(firsts) > 1 else ''}"
    why = f"her first clutch of the year, by {years} of her own, a week either side"
    if calendar.season is None:
        return _ahead(window, why, calendar)
    kept = max(window[0], calendar.season[0]), min(window[1], calendar.season[1])
    return _ahead(kept, why, calendar) if kept[0] <= kept[1] else (None, "her usual days lie out of season")
