"""Clock-change nights, worked by hand.

Europe/Paris: on 2026-10-25 clocks go from 03:00 (UTC+2) back to 02:00 (UTC+1) at 01:00 UTC, so 02:00-03:00 is
shown twice; on 2026-03-29 they go from 02:00 (UTC+1) to 03:00 (UTC+2) at 01:00 UTC, so 02:00-03:00 is skipped
(Directive 2000/84/EC, articles 2 and 3: last Sundays of March and October, 01:00 UTC).
"""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from nestwatch.errors import SiteError
from nestwatch.footage.clocks import Placed, both_rounds, clock_zone, settle

PARIS = clock_zone("local", "Europe/Paris")


def wall(text: str) -> datetime:
    return datetime.fromisoformat(text)


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def placed(names: list[str], seconds: float) -> list[Placed]:
    starts = [both_rounds(wall(name), PARIS) for name in names]
    return settle(starts, [seconds] * len(names))


def told(names: list[str], seconds: float) -> list[str]:
    """`HH:MM` UTC of each, with `?` where it stayed ambiguous."""
    return [f"{one.start:%H:%M}{'?' if one.ambiguous else ''}" for one in placed(names, seconds)]


@pytest.mark.parametrize(
    ("clock", "stamp", "instant"),
    [
        ("local", "2026-06-12 23:00", "2026-06-12 21:00"),
        ("local", "2026-01-12 23:00", "2026-01-12 22:00"),
        ("utc", "2026-06-12 23:00", "2026-06-12 23:00"),
        ("+02:00", "2026-01-12 23:00", "2026-01-12 21:00"),
        ("-03:30", "2026-01-12 23:00", "2026-01-13 02:30"),
    ],
)
def test_clock_kinds(clock: str, stamp: str, instant: str) -> None:
    assert both_rounds(wall(stamp), clock_zone(clock, "Europe/Paris")) == (utc(instant), utc(instant))


def test_repeated_hour_has_two_meanings() -> None:
    both = both_rounds(wall("2026-10-25 02:30"), PARIS)
    assert both == (utc("2026-10-25 00:30"), utc("2026-10-25 01:30"))


def test_skipped_hour_is_read_as_not_yet_moved() -> None:
    """02:30 is never shown; a clock not moved yet (UTC+1) shows it at 01:30 UTC."""
    assert both_rounds(wall("2026-03-29 02:30"), PARIS) == (utc("2026-03-29 01:30"),) * 2


def test_aware_stamp_means_what_it_says() -> None:
    moment = datetime.fromisoformat("2026-10-25T02:30:00+01:00")
    assert both_rounds(moment, PARIS) == (utc("2026-10-25 01:30"),) * 2


def test_counted_files_step_back_at_the_change() -> None:
    """Half-hour recordings in the order of their counter: 01:30 ... 02:30, then the clock goes back."""
    day = "2026-10-25 "
    names = [day + time for time in ("01:30", "02:00", "02:30", "02:00", "02:30", "03:00")]
    assert told(names, 1800) == ["23:30", "00:00", "00:30", "01:00", "01:30", "02:00"]


def test_names_sorted_by_stamp_are_told_apart_by_overlap() -> None:
    """Quarter-hour recordings; the second round runs 7 min later by the clock, the names interleave."""
    day = "2026-10-25 "
    names = [
        day + time
        for time in ("01:45", "02:00", "02:07", "02:15", "02:22", "02:30", "02:37", "02:45", "02:52")
    ]
    assert told(names, 900) == [
        "23:45", "00:00", "01:07", "00:15", "01:22", "00:30", "01:37", "00:45", "01:52",
    ]  # fmt: skip


def test_isolated_clip_stays_ambiguous() -> None:
    names = ["2026-10-25 01:10", "2026-10-25 02:20", "2026-10-25 03:40"]
    assert told(names, 60) == ["23:10", "00:20?", "02:40"]


def test_a_step_back_settles_the_clips_before_it() -> None:
    names = ["2026-10-25 02:20", "2026-10-25 02:50", "2026-10-25 02:10", "2026-10-25 02:55"]
    assert told(names, 60) == ["00:20", "00:50", "01:10", "01:55"]


def test_pre_roll_overlap_is_no_second_round() -> None:
    """Recorders repeat some seconds at a join: ten seconds of overlap do not move a file by an hour."""
    names = ["2026-10-25 01:50:00", "2026-10-25 01:59:50", "2026-10-25 02:09:40", "2026-10-25 02:19:30"]
    assert [one.start for one in placed(names, 600)] == [
        utc("2026-10-24 23:50:00"),
        utc("2026-10-24 23:59:50"),
        utc("2026-10-25 00:09:40"),
        utc("2026-10-25 00:19:30"),
    ]


def test_a_second_row_of_files_is_no_step_back() -> None:
    """Two lenses in one folder: `a_...` of the whole night, then `b_...` of the whole night."""
    row = ["2026-10-25 01:30", "2026-10-25 02:00", "2026-10-25 02:30", "2026-10-25 03:00", "2026-10-25 05:00"]
    assert told(row + row, 1800)[5:8] == ["23:30", "00:00", "00:30"]


def test_spring_night_runs_on() -> None:
    """01:30, then 03:00: half an hour later in truth (00:30 and 01:00 UTC)."""
    assert told(["2026-03-29 01:30", "2026-03-29 03:00"], 1800) == ["00:30", "01:00"]


@pytest.mark.parametrize("clock", ["summer", "+2", "+25:00", "02:00"])
def test_unknown_clock(clock: str) -> None:
    with pytest.raises(SiteError, match=r'is not "local", "utc" or an offset'):
        clock_zone(clock, "Europe/Paris")


@pytest.mark.parametrize("zone", ["Europe/Atlantis", "", "../etc"])
def test_unknown_time_zone(zone: str) -> None:
    with pytest.raises(SiteError, match=r"time zone .* is unknown"):
        clock_zone("local", zone)
