"""Nights as instants: hand-worked lengths through clock changes, nesting hours, which night ended last."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from nestwatch.site.hours import last_night, night_hours
from tests.site.sites import site


def hours(span: tuple[datetime, datetime]) -> float:
    return (span[1] - span[0]) / timedelta(hours=1)


# Worked by hand. 16:00 to 09:00 is 17 h. Paris goes from 02:00 to 03:00 on 29 March 2026 (16 h) and from
# 03:00 back to 02:00 on 25 October 2026 (18 h). New York changes on 8 March and 1 November 2026, Sydney
# (southern) back on 5 April and forward on 4 October 2026; Lord Howe's summer time is half an hour.
@pytest.mark.parametrize(
    ("timezone", "evening", "length"),
    [
        ("Europe/Paris", date(2026, 6, 12), 17.0),
        ("Europe/Paris", date(2026, 3, 28), 16.0),
        ("Europe/Paris", date(2026, 10, 24), 18.0),
        ("America/New_York", date(2026, 3, 7), 16.0),
        ("America/New_York", date(2026, 10, 31), 18.0),
        ("Australia/Sydney", date(2026, 4, 4), 18.0),
        ("Australia/Sydney", date(2026, 10, 3), 16.0),
        ("Australia/Lord_Howe", date(2026, 4, 4), 17.5),
        ("Asia/Tokyo", date(2026, 3, 28), 17.0),
    ],
)
def test_length_of_a_night_through_clock_changes(
    tmp_path: Path, timezone: str, evening: date, length: float
) -> None:
    night = night_hours(site(tmp_path, timezone=timezone), evening)
    assert hours((night.start, night.end)) == length


def test_instants_are_utc_and_named_by_the_evening(tmp_path: Path) -> None:
    night = night_hours(site(tmp_path), date(2026, 6, 12))
    assert night.date == date(2026, 6, 12)
    assert night.start == datetime(2026, 6, 12, 14, tzinfo=UTC)
    assert night.end == datetime(2026, 6, 13, 7, tzinfo=UTC)
    assert night.nesting == (datetime(2026, 6, 12, 16, tzinfo=UTC), datetime(2026, 6, 13, 1, tzinfo=UTC))
    assert night.start.tzinfo is UTC
    assert night.sunset is not None
    assert night.sunrise is not None
    assert night.start < night.sunset < night.sunrise < night.end


@pytest.mark.parametrize(
    ("night", "nesting", "wanted"),
    [
        pytest.param(("16:00", "09:00"), ("18:00", "03:00"), ("12T18:00", "13T03:00"), id="over midnight"),
        pytest.param(("16:00", "09:00"), ("19:00", "23:30"), ("12T19:00", "12T23:30"), id="evening"),
        pytest.param(("16:00", "09:00"), ("01:00", "05:00"), ("13T01:00", "13T05:00"), id="after midnight"),
        pytest.param(("16:00", "09:00"), ("14:00", "20:00"), ("12T16:00", "12T20:00"), id="begins before"),
        pytest.param(("16:00", "09:00"), ("05:00", "11:00"), ("13T05:00", "13T09:00"), id="ends after"),
        pytest.param(("18:00", "23:00"), ("20:00", "02:00"), ("12T20:00", "12T23:00"), id="short night"),
        pytest.param(("16:00", "09:00"), None, ("12T16:00", "13T09:00"), id="none given"),
        pytest.param(("12:00", "12:00"), ("18:00", "03:00"), ("12T18:00", "13T03:00"), id="whole day"),
    ],
)
def test_nesting_hours_lie_inside_the_night(
    tmp_path: Path, night: tuple[str, str], nesting: tuple[str, str] | None, wanted: tuple[str, str]
) -> None:
    clocks = tuple(time.fromisoformat(clock) for clock in night)
    digging = tuple(time.fromisoformat(clock) for clock in nesting) if nesting else None
    found = night_hours(
        site(tmp_path, night=(clocks[0], clocks[1]), nesting=(digging[0], digging[1]) if digging else None),
        date(2026, 6, 12),
    )
    zone = ZoneInfo("Europe/Paris")
    assert [f"{at.astimezone(zone):%dT%H:%M}" for at in found.nesting] == list(wanted)


def test_nesting_hours_on_the_edge_of_a_clock_change_are_the_longest_meant(tmp_path: Path) -> None:
    """02:30 occurs twice on 25 October 2026 (00:30 and 01:30 UTC); as an end the second is meant, as a
    beginning the first. Worked by hand: 18:00 CEST to the second 02:30 is 9.5 h, 02:30 to 06:00 CET 4.5 h."""
    ends = night_hours(site(tmp_path, nesting=(time(18), time(2, 30))), date(2026, 10, 24))
    begins = night_hours(site(tmp_path, nesting=(time(2, 30), time(6))), date(2026, 10, 24))
    assert hours(ends.nesting) == 9.5
    assert hours(begins.nesting) == 4.5


def test_nesting_hours_in_the_skipped_hour_keep_their_order(tmp_path: Path) -> None:
    night = night_hours(site(tmp_path, nesting=(time(2, 15), time(2, 45))), date(2026, 3, 28))
    assert night.nesting[0] < night.nesting[1]


@pytest.mark.parametrize(
    ("now", "night"),
    [
        pytest.param("2026-06-13T08:59:59+02:00", date(2026, 6, 11), id="a second before the end"),
        pytest.param("2026-06-13T09:00:00+02:00", date(2026, 6, 12), id="at the end"),
        pytest.param("2026-06-13T15:00:00+02:00", date(2026, 6, 12), id="in the day"),
        pytest.param("2026-06-13T23:00:00+02:00", date(2026, 6, 12), id="in the next night"),
        pytest.param("2026-06-13T07:00:00+00:00", date(2026, 6, 12), id="told in another zone"),
        pytest.param("2026-06-12T21:00:00-10:00", date(2026, 6, 12), id="told where it is still the 12th"),
        pytest.param("2026-10-25T08:30:00+01:00", date(2026, 10, 23), id="clocks went back"),
    ],
)
def test_last_night_is_the_one_that_ended_last(tmp_path: Path, now: str, night: date) -> None:
    assert last_night(site(tmp_path), datetime.fromisoformat(now)) == night


def test_a_night_that_ends_the_same_evening_is_over_that_evening(tmp_path: Path) -> None:
    short = site(tmp_path, night=(time(18), time(23)), nesting=None)
    zone = ZoneInfo("Europe/Paris")
    assert last_night(short, datetime(2026, 6, 12, 23, 30, tzinfo=zone)) == date(2026, 6, 12)
    assert last_night(short, datetime(2026, 6, 12, 22, 30, tzinfo=zone)) == date(2026, 6, 11)
