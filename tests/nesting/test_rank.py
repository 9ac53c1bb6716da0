"""The order a keeper looks in, held as properties of every list of digs."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from nestwatch.nesting.rank import ranked
from nestwatch.nesting.records import Dig
from tests.report.scenes import a_dig

CALLS = ["nest", "unclear", "trial", "rest"]


def dig(call: str, likelihood: float, minute: int, camera: str) -> Dig:
    some = a_dig(call=call, likelihood=likelihood, camera=camera)  # type: ignore[arg-type]
    return replace(some, start=some.start + timedelta(minutes=minute))


digs = st.lists(
    st.builds(
        dig,
        st.sampled_from(CALLS),
        st.sampled_from([0.0, 0.2, 0.5, 0.93]) | st.floats(0, 1),
        st.integers(0, 60),
        st.sampled_from(["bank", "pond"]),
    ),
    max_size=8,
)


@given(digs)
def test_completed_nests_come_first_and_rests_after_every_dig(some: list[Dig]) -> None:
    order = ranked(some)
    assert [CALLS.index(each.call) for each in order] == sorted(CALLS.index(each.call) for each in some)


@given(digs)
def test_among_the_same_call_the_likelier_comes_first(some: list[Dig]) -> None:
    for first, second in pairwise(ranked(some)):
        assert first.call != second.call or first.likelihood >= second.likelihood


@given(digs, st.randoms(use_true_random=False))
def test_nothing_is_lost_and_the_order_they_came_in_does_not_matter(some: list[Dig], chance: object) -> None:
    shuffled = list(some)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    assert ranked(shuffled) == ranked(some)
    assert sorted(map(repr, ranked(some))) == sorted(map(repr, some))
