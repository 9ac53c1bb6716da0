"""Days and sentences of the season's page."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from nestwatch.season.tally.page import told
from nestwatch.season.tally.page.days import day_list, day_span
from nestwatch.season.tally.page.drawing import count_ticks, date_ticks
from nestwatch.season.tally.records import Hatch, Share
from tests.season.tally.page_seasons import a_full_season, some_nights


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        (date(2026, 6, 12), date(2026, 6, 12), "12 Jun"),
        (date(2026, 6, 12), date(2026, 6, 14), "12–14 Jun"),
        (date(2026, 6, 30), date(2026, 7, 2), "30 Jun – 2 Jul"),
        (date(2026, 12, 30), date(2027, 1, 2), "30 Dec – 2 Jan"),
    ],
)
def test_spans_of_days(first: date, last: date, words: str) -> None:
    assert day_span(first, last) == words


def test_nights_that_follow_each_other_are_one_span() -> None:
    days = [date(2026, 7, 3), date(2026, 6, 30), date(2026, 7, 1), date(2026, 7, 2), date(2026, 7, 9)]
    assert day_list(days) == "30 Jun – 3 Jul, 9 Jul"
    assert day_list([]) == ""


@pytest.mark.parametrize(
    ("hatch", "words"),
    [
        (Hatch(10, 4, 1, 1, 0, 4), "4 of 6 settled eggs hatched, 4 pending"),
        (Hatch(1, 1, 0, 0, 0, 0), "1 of 1 settled egg hatched, 0 pending"),
        (Hatch(9, 0, 0, 0, 0, 9), "no egg settled yet, 9 pending"),
        (Hatch(9, 0, 0, 0, 0, 0), "no egg in a box"),
    ],
)
def test_hatching(hatch: Hatch, words: str) -> None:
    assert told.hatched(hatch) == words


def test_a_share_of_nothing_is_no_share() -> None:
    assert told.share(Share(0, 0, None, None)) == "no case yet"


def test_many_nights_not_seen_are_named_further_down() -> None:
    unseen = [date(2026, 6, day) for day in range(1, 27, 2)]
    assert told.not_seen(some_nights(unseen))[0] == "Not seen: 13 of 67 nights (named below)."


def test_who_is_due_comes_by_date() -> None:
    females = a_full_season(14).females
    now = told.due_now([replace(each, due=each.due, is_due=True) for each in females])
    starts = [each.due for each in females if each.due]
    assert len(now) == len(starts)
    assert [line.split(":")[0] for line in now] == [
        each.name for each in sorted((f for f in females if f.due), key=lambda f: f.due or ())
    ]
    assert told.due_later([replace(each, is_due=True) for each in females]) == []


@pytest.mark.parametrize("most", [0, 1, 3, 4, 5, 9, 17, 60, 599, 12_000])
def test_ticks_are_few_whole_and_within(most: int) -> None:
    ticks = list(count_ticks(most))
    assert 1 <= len(ticks) <= 5
    assert ticks[0] == 0
    assert ticks[-1] <= most


@pytest.mark.parametrize("days", [1, 6, 30, 66, 365])
def test_date_ticks_are_mondays(days: int) -> None:
    first = date(2026, 5, 15)
    last = date.fromordinal(first.toordinal() + days)
    ticks = list(date_ticks(first, last))
    assert len(ticks) <= 6
    assert all(day.weekday() == 0 and first <= day <= last for day in ticks)
