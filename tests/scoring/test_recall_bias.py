"""The recall-biased measure of the i-LIDS trials, by hand and against scikit-learn.

Source of the rule: Home Office CAST, "The i-LIDS User Guide", publication 10/11 (2011):
F1 = (a + 1) R P / (R + a P) with a recall bias a set by the system's role. The formula and a = 60 for event
recording are quoted from memory.
"""

from __future__ import annotations

import math

import pytest
from sklearn.metrics import fbeta_score

from nestwatch.synthetic.matching import Counts
from nestwatch.synthetic.scoring import EVENT_RECORDING


def test_worked_by_hand() -> None:
    # 4 nests, 5 alarms, 3 right: R = 3/4, P = 3/5. With a = 60: 61 * 0.45 / (0.75 + 36) = 27.45 / 36.75.
    assert Counts(4, 5, 3).biased_f(60) == pytest.approx(0.746939, abs=1e-6)
    # With a = 1 it is the harmonic mean: 2 * 0.45 / 1.35 = 2/3.
    assert Counts(4, 5, 3).biased_f(1) == pytest.approx(2 / 3)


@pytest.mark.parametrize(
    ("true", "found", "matched"), [(4, 5, 3), (10, 40, 9), (7, 2, 2), (3, 3, 3), (5, 4, 0)]
)
@pytest.mark.parametrize("bias", [0.55, 1.0, EVENT_RECORDING])
def test_it_is_the_f_beta_of_scikit_learn(true: int, found: int, matched: int, bias: float) -> None:
    """F_beta weighs recall by beta squared, which is the recall bias."""
    is_true = [1] * true + [0] * (found - matched)
    is_found = [1] * matched + [0] * (true - matched) + [1] * (found - matched)
    theirs = fbeta_score(is_true, is_found, beta=math.sqrt(bias), zero_division=0.0)
    assert Counts(true, found, matched).biased_f(bias) == pytest.approx(theirs)


def test_missing_a_nest_costs_more_than_a_false_alarm() -> None:
    missed, false = Counts(10, 9, 9), Counts(10, 11, 10)
    # 61 * 9 / (9 + 600) and 61 * 10 / (11 + 600).
    assert missed.biased_f(EVENT_RECORDING) == pytest.approx(549 / 609)
    assert false.biased_f(EVENT_RECORDING) == pytest.approx(610 / 611)


def test_nothing_to_find_and_nothing_found_is_no_number() -> None:
    assert Counts(0, 0, 0).biased_f(EVENT_RECORDING) is None
    assert Counts(0, 3, 0).biased_f(EVENT_RECORDING) == 0
