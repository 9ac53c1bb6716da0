"""Intervals between clutches, and when another is due. Emys: six females nested twice, about 24 days apart
(Bona et al. 2012, Amphibia-Reptilia 33: 207-213, as read in an abstract)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from nestwatch.season.tally.records import FemaleSeason
from nestwatch.season.tally.season import season_of
from tests.season.tally.seasons import a_record, a_site, nest

June = Mapping[str, Sequence[date]]


def females(
    folder: Path, laid: June, today: date, year: int | None = None, *, animal: str | None = None
) -> dict[str, FemaleSeason]:
    """The females as told at noon of a day; `laid`: nights by female."""
    site = a_site(folder)
    if animal is not None:
        site = replace(site, animal=replace(site.animal, name=animal))
    with a_record(site, datetime(today.year, today.month, today.day, 10, 0, tzinfo=UTC)) as record:
        for name, nights in laid.items():
            for night in nights:
                nest(record, site, night, 9, female=name)
        return {each.name: each for each in season_of(record, site, year).females}


def test_by_the_species_a_second_clutch_is_due_24_days_later_a_week_either_side(tmp_path: Path) -> None:
    ada = females(tmp_path, {"Ada": [date(2026, 6, 1)]}, date(2026, 6, 18))["Ada"]
    assert (ada.clutches, ada.eggs, ada.days_between) == ((date(2026, 6, 1),), 9, ())
    assert ada.typical_days == (24, 24)
    assert ada.typical_by is not None
    assert "Bona et al. 2012" in ada.typical_by
    assert ada.due == (date(2026, 6, 18), date(2026, 7, 2))
    assert ada.is_due


def test_before_the_window_opens_nobody_is_due(tmp_path: Path) -> None:
    ada = females(tmp_path, {"Ada": [date(2026, 6, 1)]}, date(2026, 6, 17))["Ada"]
    assert ada.due == (date(2026, 6, 18), date(2026, 7, 2))
    assert not ada.is_due


def test_her_own_earlier_years_come_first_then_the_sites_females(tmp_path: Path) -> None:
    laid = {
        "Ada": [date(2025, 5, 20), date(2025, 6, 8), date(2026, 6, 1)],
        "Berta": [date(2026, 5, 18), date(2026, 6, 13)],
        "Clara": [date(2026, 6, 10)],
    }
    found = females(tmp_path, laid, date(2026, 6, 20))
    assert (found["Ada"].typical_days, found["Ada"].typical_by) == ((19, 19), "her own earlier years")
    assert found["Ada"].due == (date(2026, 6, 13), date(2026, 6, 27))
    assert found["Berta"].days_between == (26,)
    assert (found["Clara"].typical_days, found["Clara"].typical_by) == ((19, 26), "the females of this site")


def test_eggs_laid_in_two_goes_are_no_interval_to_go_by(tmp_path: Path) -> None:
    ada = females(tmp_path, {"Ada": [date(2026, 6, 1), date(2026, 6, 3)]}, date(2026, 6, 20))["Ada"]
    assert ada.days_between == (2,)
    assert ada.typical_days == (24, 24)


def test_only_within_the_nesting_season(tmp_path: Path) -> None:
    """It ends on 20 July."""
    laid = {"Ada": [date(2026, 6, 28)], "Berta": [date(2026, 7, 5)]}
    found = females(tmp_path, laid, date(2026, 7, 8))
    assert found["Ada"].due == (date(2026, 7, 15), date(2026, 7, 20))
    assert found["Berta"].due is None
    assert found["Berta"].why == "24 days after 2026-07-05 the nesting season is over"


@pytest.mark.parametrize(
    ("today", "year", "why"),
    [
        (date(2026, 7, 10), None, "none came from 2026-06-18 to 2026-07-02 (24 days after 2026-06-01, by"),
        (date(2026, 7, 21), None, "the nesting season ended on 2026-07-20"),
        (date(2027, 2, 1), 2026, "the year 2026 is over"),
    ],
)
def test_why_nobody_is_expected(tmp_path: Path, today: date, year: int | None, why: str) -> None:
    ada = females(tmp_path, {"Ada": [date(2026, 6, 1)]}, today, year)["Ada"]
    assert (ada.due, ada.is_due) == (None, False)
    assert ada.why.startswith(why)


def test_her_first_clutch_by_her_own_earlier_years(tmp_path: Path) -> None:
    """28 May and 3 June of other years, a week either side: 21 May to 10 June."""
    laid = {"Ada": [date(2024, 5, 28), date(2025, 6, 3), date(2025, 6, 27)], "Berta": [date(2026, 5, 30)]}
    ada = females(tmp_path, laid, date(2026, 6, 5))["Ada"]
    assert ada.clutches == ()
    assert ada.eggs == 0
    assert ada.due == (date(2026, 5, 21), date(2026, 6, 10))
    assert ada.is_due
    assert ada.why == "her first clutch of the year, by 2 earlier years of her own, a week either side"


def test_where_nothing_is_known_nothing_is_said(tmp_path: Path) -> None:
    """No profile of the program's names a second clutch for an animal that it does not know."""
    ada = females(tmp_path, {"Ada": [date(2026, 6, 1)]}, date(2026, 6, 18), animal="box turtle")["Ada"]
    assert (ada.typical_days, ada.due) == (None, None)
    assert ada.why.startswith("how soon she may lay again is known neither")
