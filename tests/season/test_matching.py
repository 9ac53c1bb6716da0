"""Which dig of a new scan is which of the record."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nestwatch.season.matching import Seen, closeness, match_digs

NINE = datetime(2026, 6, 12, 19, 0, tzinfo=UTC)


def seen(start: int = 0, minutes: int = 100, x: float = 2.0, y: float = 1.0) -> Seen:
    begin = NINE + timedelta(minutes=start)
    return Seen(
        begin, begin + timedelta(minutes=minutes), "pen", (x, y), 0.06, "bank", (100 * x, 100 * y), 12.0
    )


def test_closeness_by_hand() -> None:
    """Half by time: 50 common of 150 joint minutes. Half by place: 0.07 m of the 0.35 m allowed."""
    other = replace(seen(start=50, x=2.07), camera="roof")
    assert closeness(seen(), other) == pytest.approx((50 / 150 + 1 - 0.2) / 2)


def test_the_same_dig_cut_differently_is_matched() -> None:
    assert match_digs([seen()], [seen(start=5, minutes=80, x=2.1)]).pairs == ((0, 0),)


def test_another_time_or_another_place_is_another_dig() -> None:
    assert match_digs([seen()], [seen(start=111)]).pairs == ()
    assert match_digs([seen()], [seen(x=2.34)]).pairs == ((0, 0),)
    assert match_digs([seen()], [seen(x=2.36)]).pairs == ()


def test_without_a_plan_the_picture_decides() -> None:
    bare = [replace(seen(x=x), plan_m=None, pen=None) for x in (2.0, 2.59, 2.61)]
    assert match_digs(bare[:1], bare[1:2]).pairs == ((0, 0),)
    assert match_digs(bare[:1], bare[2:]).pairs == ()


def test_marks_that_were_redrawn_do_not_lose_the_dig() -> None:
    """The plan place jumps, the pixel stays."""
    assert match_digs([seen()], [replace(seen(), plan_m=(3.4, 1.9))]).pairs == ((0, 0),)


def test_another_camera_is_compared_by_plan_only() -> None:
    other = replace(seen(), camera="roof", pixel=(900.0, 20.0))
    assert match_digs([seen()], [other]).pairs == ((0, 0),)
    assert match_digs([replace(seen(), plan_m=None)], [other]).pairs == ()


def test_two_equal_candidates_are_not_guessed_between() -> None:
    found = match_digs([seen()], [seen(x=1.9), seen(x=2.1)])
    assert (found.pairs, found.unsure) == ((), (0,))


def test_a_far_better_candidate_is_taken() -> None:
    found = match_digs([seen()], [seen(x=2.33), seen(x=2.01)])
    assert (found.pairs, found.unsure) == (((0, 1),), ())


def test_what_is_clear_clears_the_rest() -> None:
    """Former 1 could be both, but latest 0 is plainly former 0."""
    found = match_digs([seen(), seen(x=2.2)], [seen(), seen(x=2.25)])
    assert found.pairs == ((0, 0), (1, 1))


PLACES = st.lists(st.tuples(st.integers(0, 300), st.floats(0, 4), st.floats(0, 3)), max_size=6)


@settings(deadline=None)  # a busy machine is no failure
@given(PLACES, PLACES)
def test_nothing_is_used_twice_and_order_does_not_matter(
    one: list[tuple[int, float, float]], other: list[tuple[int, float, float]]
) -> None:
    former = [seen(start, 60, x, y) for start, x, y in one]
    latest = [seen(start, 60, x, y) for start, x, y in other]
    found = match_digs(former, latest)
    assert len({i for i, _ in found.pairs}) == len({j for _, j in found.pairs}) == len(found.pairs)
    assert not {i for i, _ in found.pairs} & set(found.unsure)
    turned = match_digs(latest, former)
    assert {(j, i) for j, i in turned.pairs} == {(j, i) for i, j in found.pairs}


@settings(deadline=None)  # a busy machine is no failure
@given(PLACES)
def test_the_same_scan_again_moves_no_dig_to_another(places: list[tuple[int, float, float]]) -> None:
    digs = [seen(start, 60, x, y) for start, x, y in places]
    assert all(
        digs[i] == digs[j] or closeness(digs[i], digs[j]) == 1 for i, j in match_digs(digs, digs).pairs
    )
