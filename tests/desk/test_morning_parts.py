"""The desk's pure parts: which dig is next, a month's weeks, bars, the plan."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from nestwatch.desk.morning.bars import make_bar
from nestwatch.desk.morning.months import month_span, next_month, weeks
from nestwatch.desk.morning.queue import make_queue
from nestwatch.season.records import CalendarNight, Dig, Find, Found

PARIS = ZoneInfo("Europe/Paris")
TODAY = date(2026, 6, 13)
NOW = datetime(2026, 6, 13, 4, 10, tzinfo=UTC)
YESTERDAY = NOW - timedelta(days=1)


def a_dig(number: int, found: Found | None = None, at: datetime = NOW, **changes: Any) -> Dig:
    """A dig with the number as its id; `found` was entered at `at`."""
    find = None if found is None else Find(number, 1, found, None, at)
    values: dict[str, Any] = dict.fromkeys(
        ("rank_before", "camera", "zone", "pen", "pixel", "within_px", "plan_m", "within_m"), None
    )
    values |= dict.fromkeys(("shell_length_cm", "in_nesting_hours", "clip", "note"), None)
    values |= dict.fromkeys(("cameras", "reasons", "stages", "tape"), ())
    values |= {"source": "scan", "listed": True, "call": "nest", "likelihood": 0.9, "pictures": {}}
    values |= {"night": date(2026, 6, 12), "label": str(number), "rank": number}
    return Dig(id=number, version=1, start=YESTERDAY, end=YESTERDAY, find=find, **(values | changes))


def comes_up(own: list[Dig], waiting: list[Dig] | None = None, **asked: int) -> int | None:
    queue = make_queue(waiting or [], own, TODAY, PARIS, **asked)
    return None if queue.current is None else queue.current.id


def test_earlier_nights_come_first() -> None:
    assert comes_up([a_dig(5)], [a_dig(1), a_dig(2)]) == 1


def test_left_yesterday_is_asked_again_and_left_today_is_not() -> None:
    assert comes_up([a_dig(5)], [a_dig(1, "not-yet", YESTERDAY)]) == 1
    assert comes_up([a_dig(5)], [a_dig(1, "not-yet", NOW)]) == 5


def test_the_day_is_the_sites() -> None:
    """23:30 UTC on the 12th is already the 13th in Paris (CEST is UTC+2, tz database)."""
    late = datetime(2026, 6, 12, 23, 30, tzinfo=UTC)
    assert comes_up([], [a_dig(1, "not-yet", late)]) is None
    assert comes_up([], [a_dig(1, "not-yet", late - timedelta(hours=2))]) == 1


def test_after_the_last_comes_the_first_again() -> None:
    digs = [a_dig(1), a_dig(2, "eggs"), a_dig(3)]
    assert comes_up(digs, after=1) == 3
    assert comes_up(digs, after=3) == 1
    assert comes_up(digs, after=99) == 1


def test_rests_are_shown_only_when_chosen() -> None:
    digs = [a_dig(1, "eggs"), a_dig(2, call="rest")]
    assert comes_up(digs) is None
    assert comes_up(digs, chosen=2) == 2


def test_nothing_at_all() -> None:
    assert comes_up([]) is None


def test_weeks_of_a_month() -> None:
    """1 June 2026 is a Monday and has 30 days (ISO 8601 calendar): five rows, to Sunday 5 July."""
    assert month_span(2026, 6) == (date(2026, 6, 1), date(2026, 7, 5))
    night = CalendarNight(date(2026, 6, 12), digs=3, nests=1, open=2, seen=0.93, watched=False)
    shown = weeks(2026, 6, [night])
    assert [len(week) for week in shown] == [7] * 5
    assert shown[1][4].words == "1 nest, 2 still to be settled, part of the night not seen"


@pytest.mark.parametrize(
    ("seen", "watched", "words"),
    [
        (1.0, False, "no dig"),
        (0.2, False, "no usable footage"),
        (None, False, "no usable footage"),
        (None, True, "part of the night not seen, watched by eye"),
    ],
)
def test_a_night_without_digs_is_told_apart_from_a_blind_one(
    seen: float | None, watched: bool, words: str
) -> None:
    night = CalendarNight(date(2026, 6, 2), digs=0, nests=0, open=0, seen=seen, watched=watched)
    assert weeks(2026, 6, [night])[0][1].words == words


def test_months_roll_over_the_year() -> None:
    assert next_month(2026, 12, 1) == (2027, 1)
    assert next_month(2026, 1, -1) == (2025, 12)


def test_a_bar_is_cut_at_its_ends_and_nothing_vanishes() -> None:
    """Two hours from 20:00 UTC (22:00 in Paris): a quarter of an hour is an eighth of 1000 units."""
    start = datetime(2026, 6, 12, 20, tzinfo=UTC)
    bar = make_bar(
        start,
        start + timedelta(hours=2),
        PARIS,
        [
            ("dig", "2026-06-12T22:30:00+02:00", "2026-06-12T22:45:00+02:00"),
            ("lay", "2026-06-12T19:00:00+00:00", "2026-06-12T20:00:01+00:00"),
        ],
    )
    assert [(part.left, part.width) for part in bar.parts] == [(250.0, 125.0), (0.0, 2.0)]
    assert bar.parts[0].span == "22:30–22:45"
    assert (0.0, "22:00") in bar.ticks
    assert (500.0, "23:00") in bar.ticks


def test_a_bar_over_the_change_of_clocks() -> None:
    """25 October 2026: clocks go back at 03:00 CEST, so the night from 22:00 to 04:00 has seven hours."""
    start = datetime(2026, 10, 24, 20, tzinfo=UTC)
    bar = make_bar(start, start + timedelta(hours=7), PARIS, [])
    assert [label for _, label in bar.ticks] == [
        "22:00",
        "23:00",
        "00:00",
        "01:00",
        "02:00",
        "02:00",
        "03:00",
        "04:00",
    ]
