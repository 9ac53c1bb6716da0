"""Local normalised correlation against a direct computation, and what it cancels."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from skimage.feature import match_template

from nestwatch.ground.normalise import local_likeness
from tests.ground.scenes import soil


def test_likeness_equals_the_direct_correlation_of_each_window() -> None:
    """Outside check: numpy.corrcoef of the two windows, pixel by pixel."""
    rng = np.random.default_rng(3)
    first, second = soil(rng), soil(rng)
    second = np.asarray(0.6 * first + 0.4 * second, np.float32)
    likeness = local_likeness(first, second, 15)
    for row, column in rng.integers(10, 140, (40, 2)):
        window = np.s_[row - 7 : row + 8, column - 7 : column + 8]
        direct = np.corrcoef(first[window].ravel(), second[window].ravel())[0, 1]
        assert likeness[row, column] == pytest.approx(direct, abs=2e-3)


def test_likeness_agrees_with_scikit_image() -> None:
    """Outside check: scikit-image 0.26 `match_template` of one window in the other (Lewis 1995)."""
    rng = np.random.default_rng(4)
    first = soil(rng)
    second = np.asarray(0.5 * first + soil(rng), np.float32)
    likeness = local_likeness(first, second, 11)
    for row, column in rng.integers(10, 140, (20, 2)):
        window = np.s_[row - 5 : row + 6, column - 5 : column + 6]
        theirs = match_template(first[window], second[window])[0, 0]  # type: ignore[no-untyped-call]
        assert likeness[row, column] == pytest.approx(theirs, abs=2e-3)


LIGHTS = {
    "gain": lambda p, ramp: 1.25 * p + 10,
    "wetter and flatter": lambda p, ramp: 0.7 * (p - 80) + 62,
    "lamp moved": lambda p, ramp: p * (0.7 + 0.6 * ramp),
    "hard shadow": lambda p, ramp: np.where(ramp > 0.5, 0.6 * p, p),
}


@pytest.mark.parametrize("light", LIGHTS)
def test_a_changed_light_hides_no_dug_patch(light: str) -> None:
    """A patch of new texture (same mean and contrast) is told from the rest under every light; the plain
    difference of pictures fails at each of them (areas under the ROC curve)."""
    rng = np.random.default_rng(5)
    before, fresh = soil(rng), soil(rng)
    mask = np.zeros(before.shape, np.float32)
    cv2.circle(mask, (120, 80), 10, (1.0,), -1)
    ramp = np.broadcast_to(np.linspace(0, 1, before.shape[1]), before.shape)
    after = LIGHTS[light](np.where(mask > 0, fresh - fresh.mean() + before.mean(), before), ramp)
    after = np.asarray(after + rng.normal(0, 1, before.shape), np.float32)
    likeness, plain = 1 - local_likeness(before, after, 11), np.abs(after - before)
    assert _area(likeness, mask > 0) > 0.95
    assert _area(plain, mask > 0) < 0.9


def _area(score: NDArray[np.float32], truth: NDArray[np.bool_]) -> float:
    ranks = score.ravel().argsort().argsort() + 1.0
    positive = truth.ravel()
    count, total = int(positive.sum()), positive.size
    return float((ranks[positive].sum() - count * (count + 1) / 2) / (count * (total - count)))


def test_flat_ground_has_no_likeness_to_report() -> None:
    flat = np.full((40, 60), 80, np.uint8)
    assert not local_likeness(flat, flat, 9).any()
