"""Nesting seasons, also over new year and on 29 February, and the year that a night counts for."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nestwatch.season.years import nesting_season, year_of, year_span
from nestwatch.site.records import Site
from tests.marking.nights import a_site

MonthDay = tuple[int, int]


def site(season: tuple[MonthDay, MonthDay] | None) -> Site:
    made = a_site()
    return replace(made, path=Path("site.toml"), animal=replace(made.animal, nesting_season=season))


def test_a_season_within_a_year() -> None:
    north = site(((5, 15), (7, 20)))
    assert nesting_season(north, 2026) == (date(2026, 5, 15), date(2026, 7, 20))
    assert year_span(north, 2026) == (date(2026, 1, 1), date(2026, 12, 31))


def test_a_season_over_new_year_is_one_season() -> None:
    """Middle of the pause from 15 February to 1 November 2026 (259 days): 24 June."""
    south = site(((11, 1), (2, 15)))
    assert nesting_season(south, 2026) == (date(2026, 11, 1), date(2027, 2, 15))
    assert year_span(south, 2026) == (date(2026, 6, 24), date(2027, 6, 23))
    assert [year_of(south, date(2027, month, 10)) for month in (1, 2, 6, 7, 12)] == [
        2026,
        2026,
        2026,
        2027,
        2027,
    ]


def test_no_season_and_29_february() -> None:
    assert nesting_season(site(None), 2026) is None
    assert nesting_season(site(((2, 29), (6, 1))), 2026) == (date(2026, 2, 28), date(2026, 6, 1))
    assert nesting_season(site(((2, 29), (6, 1))), 2028) == (date(2028, 2, 29), date(2028, 6, 1))


days = st.dates(date(2023, 1, 1), date(2023, 12, 31)).map(lambda day: (day.month, day.day))


@given(st.tuples(days, days) | st.none(), st.dates(date(2010, 1, 1), date(2040, 12, 31)))
def test_every_night_counts_for_one_year(season: tuple[MonthDay, MonthDay] | None, night: date) -> None:
    made = site(season)
    year = year_of(made, night)
    first, last = year_span(made, year)
    assert first <= night <= last
    assert year_span(made, year + 1)[0] == last + timedelta(days=1)
    if season is not None:
        inside = nesting_season(made, year)
        assert inside is not None
        assert first <= inside[0] <= inside[1] <= last, "a season is never cut in two"


@pytest.mark.parametrize("month", range(1, 13))
def test_a_day_of_every_month(month: int) -> None:
    assert year_of(site(((5, 15), (7, 20))), date(2026, month, 1)) == 2026
