"""A likelihood put right keeps its order, and what it was."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nestwatch.nesting.rank import ranked
from nestwatch.nesting.records import Dig
from nestwatch.nesting.scale import Scale, put_right
from tests.nesting.test_rank import digs
from tests.report.scenes import a_dig

SCALES = st.builds(Scale, st.floats(0.05, 8), st.floats(-6, 6))


@pytest.mark.parametrize("likelihood", [0.02, 0.3, 0.5, 0.93])
def test_platt_s_formula(likelihood: float) -> None:
    """Platt 1999: 1 / (1 + exp(A f + B)) of the decision value f, here the log odds; A = -slope."""
    f = math.log(likelihood / (1 - likelihood))
    assert Scale(1.7, -0.6).one(likelihood) == pytest.approx(1 / (1 + math.exp(-1.7 * f + 0.6)))
    assert Scale(1, 0).one(likelihood) == pytest.approx(likelihood)


def test_certainty_stays_finite() -> None:
    assert np.isfinite(Scale(5, 0)(np.array([0.0, 1.0]))).all()


@given(digs, SCALES)
def test_no_fit_changes_the_order_in_which_a_keeper_looks(some: list[Dig], scale: Scale) -> None:
    fitted = [put_right(each, scale) for each in some]
    assert [each.as_built for each in ranked(fitted)] == [each.likelihood for each in ranked(some)]
    assert [(each.call, each.start) for each in ranked(fitted)] == [
        (each.call, each.start) for each in ranked(some)
    ]


@given(st.lists(st.floats(0, 1), min_size=2), SCALES)
def test_a_likelier_dig_stays_at_least_as_likely(likelihoods: list[float], scale: Scale) -> None:
    given_ = scale(np.array(sorted(likelihoods)))
    assert (np.diff(given_) >= 0).all()


def test_without_a_scale_a_dig_is_as_it_was_built() -> None:
    dig = a_dig(likelihood=0.93)
    assert put_right(dig, None) is dig
    assert (dig.likelihood_as_built, dig.as_built) == (None, 0.93)
    right = put_right(dig, Scale(0.5, 0))
    assert (right.likelihood_as_built, right.as_built) == (0.93, 0.93)
    assert right.likelihood == pytest.approx(1 / (1 + (0.07 / 0.93) ** 0.5))
