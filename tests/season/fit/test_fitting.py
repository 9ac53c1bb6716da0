"""Two numbers fitted to what was found, and how they are judged: against scikit-learn, scipy and by hand."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import expit
from scipy.stats import chi2
from sklearn.base import BaseEstimator, ClassifierMixin
from sklearn.calibration import CalibratedClassifierCV, calibration_curve
from sklearn.frozen import FrozenEstimator
from sklearn.linear_model import LogisticRegression
from sklearn.metrics import brier_score_loss, log_loss
from sklearn.model_selection import GroupKFold, cross_val_predict

from nestwatch.nesting.scale import Floats, Scale
from nestwatch.season.fit.records import Bin
from nestwatch.season.fit.reliability import bins, brier, judged
from nestwatch.season.fit.scale import OneSided, fit, left_out

CLAIMED = np.array([0.02, 0.05, 0.11, 0.15, 0.18, 0.52, 0.58, 0.91, 0.97, 1.0])
EGGS = np.array([0, 0, 0, 0, 1, 1, 0, 1, 1, 1], bool)


def test_bins_by_hand() -> None:
    parts = bins(CLAIMED, EGGS)
    assert [(part.held, part.total) for part in parts] == [(0, 2), (1, 3), (1, 2), (3, 3)]
    assert [part.claimed for part in parts] == pytest.approx([0.035, 0.44 / 3, 0.55, 2.88 / 3])


def test_bins_agree_with_scikit_learn_on_many_entries() -> None:
    rng = np.random.default_rng(3)
    claimed = np.concatenate([rng.random(400), np.arange(11) / 10])  # with values on the edges
    eggs = rng.random(len(claimed)) < claimed
    share, mean = calibration_curve(eggs, claimed, n_bins=10)
    parts = bins(claimed, eggs)
    assert [part.held / part.total for part in parts] == pytest.approx(share)
    assert [part.claimed for part in parts] == pytest.approx(mean)
    assert sum(part.total for part in parts) == len(eggs)
    assert sum(part.held for part in parts) == eggs.sum()


def test_a_cramped_likelihood_is_put_right() -> None:
    """Log odds halved and shifted: the fit must find a slope of 2 and the shift, within its own error."""
    rng = np.random.default_rng(4)
    true = rng.normal(0, 2, 20_000)
    eggs = rng.random(len(true)) < 1 / (1 + np.exp(-true))
    said = 1 / (1 + np.exp(-(true - 1) / 2))
    scale = fit(said, eggs)
    assert [scale.slope, scale.offset] == pytest.approx([2, 1], abs=0.1)
    assert brier_score_loss(eggs, scale(said)) < brier_score_loss(eggs, said)


def test_left_out_nights_are_not_fitted_on() -> None:
    """Likelihoods that mean nothing but that two nights are alike: fitted within, they look good; left out
    by night, they cannot."""
    night = np.repeat(np.arange(10), 20)
    eggs = (night % 2).astype(bool)
    rng = np.random.default_rng(5)
    said = rng.uniform(0.3, 0.7, len(eggs))
    given = left_out(said, eggs, night)
    assert given.shape == said.shape
    assert brier_score_loss(eggs, given) > 0.245  # a coin's 0.25


def test_the_scale_has_the_greatest_likelihood() -> None:
    """Platt 1999 defines it so; scipy's minimiser finds the same two numbers but for the slight pull."""
    rng = np.random.default_rng(6)
    z = rng.normal(0, 1.5, 3000)
    eggs = rng.random(len(z)) < expit(1.7 * z - 0.6)

    def surprise(numbers: NDArray[np.float64]) -> float:
        return float(log_loss(eggs, expit(numbers[0] * z + numbers[1])))

    best = minimize(surprise, np.zeros(2)).x
    ours = fit(expit(z), eggs)
    assert [ours.slope, ours.offset] == pytest.approx(best.tolist(), abs=0.02)


class Claimed(ClassifierMixin, BaseEstimator):  # type: ignore[misc]
    """A classifier that was built elsewhere: its decision value is the log odds handed to it."""

    classes_ = np.array([False, True])

    def fit(self, z: Floats, eggs: NDArray[np.bool_]) -> Claimed:
        return self

    def __sklearn_is_fitted__(self) -> bool:
        return True

    def decision_function(self, z: Floats) -> Floats:
        return z[:, 0]

    def predict(self, z: Floats) -> NDArray[np.bool_]:
        return z[:, 0] > 0


def test_it_is_scikit_learn_s_own_sigmoid_calibration() -> None:
    """Which differs in moving the targets a little off 0 and 1 (Platt 1999) where ours pulls the slope a
    little: with 3000 finds neither shows."""
    rng = np.random.default_rng(7)
    z = rng.normal(0, 1.5, 3000)
    eggs = rng.random(len(z)) < expit(0.6 * z + 0.8)
    theirs = CalibratedClassifierCV(FrozenEstimator(Claimed()), method="sigmoid").fit(z[:, None], eggs)
    some = np.linspace(-4, 4, 9)
    wanted = theirs.predict_proba(some[:, None])[:, 1]
    assert fit(expit(z), eggs)(expit(some)) == pytest.approx(wanted, abs=0.005)


def test_nights_left_out_as_scikit_learn_does_it() -> None:
    rng = np.random.default_rng(8)
    z = rng.normal(0, 2, 150)
    eggs, night = rng.random(150) < expit(z), rng.integers(0, 23, 150)
    wanted = cross_val_predict(
        LogisticRegression(), z[:, None], eggs, groups=night, cv=GroupKFold(5), method="predict_proba"
    )
    assert left_out(expit(z), eggs, night) == pytest.approx(wanted[:, 1])


@pytest.mark.parametrize("wrong", [Scale(1, 0), Scale(2.5, 0.5), Scale(0.4, -1)], ids=str)
def test_a_known_miscalibration_is_recovered_within_its_own_error(wrong: Scale) -> None:
    """Over 30 seeds, errors over their standard error (inverse Fisher information, McCullagh & Nelder 1989)
    spread as a standard normal does: the sum of their squares is chi-square with two degrees a seed."""
    total, seeds = 0.0, 30
    for seed in range(seeds):
        rng = np.random.default_rng(seed)
        z = rng.normal(0, 1.5, 1500)
        true = np.array([wrong.slope, wrong.offset])
        design = np.stack([z, np.ones_like(z)], axis=1)
        chance = expit(design @ true)
        found = fit(expit(z), rng.random(len(z)) < chance)
        error = np.array([found.slope, found.offset]) - true
        total += float(error @ (design.T * (chance * (1 - chance))) @ design @ error)
    low, high = chi2.ppf([0.0005, 0.9995], 2 * seeds)
    assert low < total < high


def test_at_the_minimum_a_wrong_likelihood_is_mended_for_finds_to_come() -> None:
    """20 of each kind, log odds twice too large and shifted: of 60 seeds by far most are nearer to finds that
    the fit has not seen. By chance half would be: more than 45 happen with a probability below 0.0001."""
    better = 0
    for seed in range(60):
        rng = np.random.default_rng(seed)
        z = rng.normal(0, 1.2, 4000)
        eggs = rng.random(len(z)) < expit(z)
        said = expit(2 * z - 1.5)
        few = np.concatenate([np.flatnonzero(eggs)[:20], np.flatnonzero(~eggs)[:20]])
        scale = fit(said[few], eggs[few])
        better += brier(scale(said[2000:]), eggs[2000:]) < brier(said[2000:], eggs[2000:])
    assert better > 45


def test_brier_score_and_interval() -> None:
    assert brier(CLAIMED, EGGS) == pytest.approx(brier_score_loss(EGGS, CLAIMED))
    told = judged(CLAIMED, EGGS)
    assert (told.brier, list(told.bins)) == (brier(CLAIMED, EGGS), bins(CLAIMED, EGGS))
    # 0 of 2: the upper end is 1 - 0.025 ** (1/2).
    assert Bin(0.04, 0, 2).interval == pytest.approx((0.0, 1 - 0.025**0.5))


def test_finds_of_one_kind_carry_no_fit() -> None:
    said = np.full(30, 0.5)
    with pytest.raises(OneSided):
        fit(said, np.ones(30, bool))
    one_night = np.repeat(np.arange(6), 5)
    with pytest.raises(OneSided):
        left_out(said, one_night == 0, one_night)
