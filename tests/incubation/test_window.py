"""Hatch windows: always from one day to another, with reasons; wider where less is known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from nestwatch.season.incubation.course import Course, follow
from nestwatch.season.incubation.development import DegreeDays
from nestwatch.season.incubation.profile import Profile, of_site, profile_called
from nestwatch.season.incubation.records import Series
from nestwatch.season.incubation.sources import Days, Source, Span
from nestwatch.season.incubation.window import Window, by_profile, by_readings, joined
from tests.marking.nights import a_site

ZONE = ZoneInfo("Europe/Paris")
LAID = datetime(2026, 6, 12, 20, 0, tzinfo=UTC)
MODEL = DegreeDays(15.5017, 728.83, (23.0, 34.0))
"""Pelodiscus sinensis, from Du & Ji 2003 (J. Therm. Biol. 28: 279-286, as read in an abstract)."""
KEPT = (27.0, 30.0)


def series(celsius: Sequence[float], step_h: float = 1.0, start_h: float = 0.0) -> Series:
    seconds = LAID.timestamp() + 3600 * (start_h + step_h * np.arange(len(celsius), dtype=np.float64))
    return Series(seconds, np.array(celsius, dtype=np.float64), np.full(len(celsius), np.nan))


def followed(read: Series, days: float) -> Course:
    return follow(read, MODEL, LAID, LAID + timedelta(days=days), KEPT)


def width(window: Window) -> int:
    assert window.last is not None
    return (window.last - window.first).days


def days_of(window: Window) -> tuple[int, int]:
    assert window.last is not None
    return (window.first - LAID.date()).days, (window.last - LAID.date()).days


def test_development_so_far_by_hand() -> None:
    """10 d at 26 and 10 d at 30 °C are 0.3430 of the whole (worked out by hand from the two points)."""
    read = series([26.0] * 240 + [30.0] * 241)
    low, high = followed(read, 20).done
    assert low == pytest.approx(0.3430, abs=3e-4)
    assert high == pytest.approx(low)


def test_a_steady_incubator_gives_the_published_day_inside_the_window() -> None:
    """At 28 °C the line says day 58.31; a tenth before and a fifth after are allowed for."""
    read = series([28.0] * (24 * 30))
    window = by_readings(followed(read, 30), MODEL, Source("Du & Ji 2003", "abstract"), ZONE)
    first, last = days_of(window)
    assert first < 0.9 * 58.31 + 1 < 58 < last
    assert first == pytest.approx(0.9 * 58.31, abs=3)
    assert last == pytest.approx(1.2 * 58.31, abs=4)
    assert "degree-days above 15.5017 °C, 728.83 of them until hatching [Du & Ji 2003" in window.reasons[0]
    assert window.reasons[1] == "What was read equals a constant 28.0 °C (Georges 1989)."
    assert window.widened == ()


def test_the_clutch_that_took_longer_than_its_model_is_inside() -> None:
    """A Korean clutch (seen in an excerpt) took 53 to 55 d at 31 to 32 °C, where the line says 44 to 46."""
    read = series([31.5] * (24 * 40))
    first, last = days_of(by_readings(followed(read, 40), MODEL, None, ZONE))
    assert first <= 53
    assert last >= 55


def test_a_gap_widens_and_says_so() -> None:
    whole = series([28.0] * (24 * 30))
    broken = Series(
        *(np.delete(each, np.s_[240:480]) for each in (whole.seconds, whole.celsius, whole.humidity))
    )
    full, gappy = (by_readings(followed(each, 30), MODEL, None, ZONE) for each in (whole, broken))
    assert gappy.first < full.first
    assert width(gappy) > width(full)
    assert gappy.widened[0].startswith(
        "Wider: 241 h without readings (1 stretch, the longest from 2026-06-22"
    )
    assert "27.0 to 30.0 °C were taken there" in gappy.widened[0]
    low, high = followed(broken, 30).done
    steady, gap_d = 12.4983 / 728.83, 241 / 24
    assert low == pytest.approx(steady * (30 - gap_d) + gap_d * (27 - 15.5017) / 728.83, abs=2e-3)
    assert high == pytest.approx(steady * (30 - gap_d) + gap_d * (30 - 15.5017) / 728.83, abs=2e-3)


@pytest.mark.parametrize(("celsius", "words"), [(21.0, "below 23 °C"), (35.0, "above 34 °C")])
def test_readings_outside_the_model_widen_and_say_so(celsius: float, words: str) -> None:
    read = series([28.0] * 240 + [celsius] * 120 + [28.0] * 360)
    course = followed(read, 30)
    inside = followed(series([28.0] * 720), 30)
    window = by_readings(course, MODEL, None, ZONE)
    assert any(f"Wider: 120 h were read {words}" in line for line in window.widened)
    assert width(window) > width(by_readings(inside, MODEL, None, ZONE))
    assert course.done[0] == pytest.approx(12.4983 / 728.83 * 25, abs=2e-3), "none in those five days"


def test_no_readings_at_all_is_as_wide_as_what_is_kept() -> None:
    empty = Series(np.empty(0), np.empty(0), np.empty(0))
    course = followed(empty, 10)
    assert course.done == pytest.approx(tuple(10 * (t - 15.5017) / 728.83 for t in KEPT))
    assert course.equivalent_c is None
    assert course.ahead_c == KEPT


def test_old_readings_say_nothing_of_tomorrow() -> None:
    read = series([28.0] * 240)
    assert followed(read, 10).ahead_c == (27.5, 28.5)
    assert followed(read, 12).ahead_c == KEPT


def test_hatching_already_due_by_the_model_is_in_the_past() -> None:
    read = series([30.0] * (24 * 80))
    window = by_readings(followed(read, 80), MODEL, None, ZONE)
    first, last = days_of(window)
    assert (first, last) == (46, 61), "0.9 and 1.2 times 50.27 days (Du & Ji) after 22:00"


def chelydra(mean: float | None) -> Window | None:
    return by_profile(profile_called(a_site(), "Chelydra serpentina"), LAID, ZONE, mean)


def test_single_days_become_a_window() -> None:
    """74.3 d at 25 °C (Finkler 2017, as read in an abstract): from a tenth before to a fifth after, counted
    from 22:00."""
    window = chelydra(25.0)
    assert window is not None
    assert days_of(window) == (67, 90)
    assert (
        window.reasons[0]
        == "snapping turtle: 74.3 days at 25 °C [Finkler 2017, SICB abstract (as read in an abstract)]."
    )
    assert window.widened == ()


def test_days_for_other_temperatures_are_said_to_be_so() -> None:
    window = chelydra(29.0)
    assert window is not None
    assert window.widened == (
        "Wider: the profile has no days for 29.0 °C; all the days that it has were taken together.",
    )


def test_cooler_first_weeks_hatch_later() -> None:
    """Chelydra, first 21 d at 23, 25, 27 then 25 °C: 78.1, 74.3, 66.3 d (Finkler 2017): only the order."""
    ends = []
    for start in (23.0, 25.0, 27.0):
        read = series([start] * (24 * 21) + [25.0] * (24 * 60))
        ends.append(days_of(by_readings(followed(read, 81), MODEL, None, ZONE)))
    assert ends[0] > ends[1] > ends[2]


def test_several_probes_give_one_window_that_holds_all() -> None:
    cool, warm = (by_readings(followed(series([t] * 720), 30), MODEL, None, ZONE) for t in (27.0, 29.0))
    both = joined([cool, warm])
    assert both is not None
    assert (both.first, both.last) == (warm.first, cool.last)
    assert both.reasons[0].startswith("2 probes")
    assert joined([]) is None


def test_practice_without_a_source_is_marked() -> None:
    """55 to 65 days at 84 to 88 °F: common practice, no source."""
    window = by_profile(profile_called(a_site(), "pond turtle"), LAID, ZONE, (86 - 32) / 1.8)
    assert window is not None
    assert (window.first, window.last) == (date(2026, 8, 6), date(2026, 8, 16))
    assert "[no source]" in window.reasons[0]


def test_a_profile_without_days_gives_none() -> None:
    bare: Profile = replace(of_site(a_site()), days=())
    assert by_profile(bare, LAID, ZONE, 28.0) is None
    told = replace(bare, days=(Days(Span(60, 70, None), None),))
    assert by_profile(told, LAID, ZONE, 28.0) is not None
