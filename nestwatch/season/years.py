"""The nesting season of a year, and which year a night belongs to. Pure.

Where the season runs over new year, a year of nests is counted from the middle of one pause to the middle of
the next and named by the year in which its season begins; elsewhere it is the calendar's.
"""

from __future__ import annotations

import calendar
from datetime import date, timedelta

from nestwatch.site.records import Site

Dates = tuple[date, date]
_DAY = timedelta(days=1)


def nesting_season(site: Site, year: int) -> Dates | None:
    """First and last night of the season that begins in `year`; None where the site file names none."""
    pair = site.animal.nesting_season
    if pair is None:
        return None
    first, last = (same_day(year, *each) for each in pair)
    return first, last if last >= first else same_day(year + 1, *pair[1])


def year_span(site: Site, year: int) -> Dates:
    """First and last night that count for `year`."""
    season = nesting_season(site, year)
    if season is None or season[1].year == year:
        return date(year, 1, 1), date(year, 12, 31)
    return _middle(site, year), _middle(site, year + 1) - _DAY


def year_of(site: Site, night: date) -> int:
    """The year that a night counts for."""
    return night.year if night >= year_span(site, night.year)[0] else night.year - 1


def _middle(site: Site, year: int) -> date:
    """The middle of the pause before the season of `year`."""
    before, after = nesting_season(site, year - 1), nesting_season(site, year)
    assert before is not None
    assert after is not None
    return before[1] + (after[0] - before[1]) // 2


def same_day(year: int, month: int, day: int) -> date:
    """A day of the calendar in a year; 29 February is the 28th where there is none."""
    return date(year, month, min(day, calendar.monthrange(year, month)[1]))
