"""Change detection with and without our normalisation, judged by scikit-learn's `roc_auc_score`.

A dug patch of the same mean and contrast but new texture, pictures averaged over 20 frames, and between
before and after another light. How well does each score part the patch's pixels from the rest? `raw` is the
difference of the pictures, `one_gain` the difference after one gain and offset for the whole picture, both
smoothed over the same neighbourhood as ours; ours is what the search (`local_likeness`) and `ground.measure`
look at.
"""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from sklearn.metrics import roc_auc_score

from nestwatch.ground.normalise import local_likeness, local_normal
from tests.ground.scenes import COLUMNS, ROWS, soil

Picture = NDArray[np.float32]
ACROSS = np.broadcast_to(np.linspace(0, 1, COLUMNS, dtype=np.float32), (ROWS, COLUMNS))
SHELL, SIDE = 19, 15


def spot(x: float) -> Picture:
    """An infrared lamp that points at `x` (share of the width)."""
    return np.asarray(0.55 + 0.6 * np.exp(-((ACROSS - x) ** 2) / 0.12), np.float32)


LIGHTS: dict[str, Callable[[Picture], Picture]] = {
    "gain": lambda p: 1.25 * p + 10,
    "wetter and flatter": lambda p: 0.7 * (p - 80) + 62,
    "lamp moved": lambda p: p * spot(0.7) / spot(0.3),
    "hard shadow": lambda p: np.where(ACROSS > 0.55, 0.6 * p, p),
}


def averaged(picture: Picture, rng: np.random.Generator, *, frames: int = 20, noise: float = 3.0) -> Picture:
    """The mean of noisy frames of 8 bit."""
    noisy = picture + rng.normal(0, noise, (frames, *picture.shape))
    return np.asarray(np.clip(np.round(noisy), 0, 255).mean(axis=0), np.float32)


def pair(light: str, seed: int) -> tuple[Picture, Picture, NDArray[np.bool_]]:
    """(before, after in another light, where it was dug)."""
    rng = np.random.default_rng(seed)
    ground, fresh = soil(rng), soil(rng)
    dug = np.zeros(ground.shape, np.uint8)
    cv2.circle(dug, (int(rng.integers(40, 200)), int(rng.integers(40, 120))), SHELL // 2, 1, -1)
    new = (fresh - fresh[dug > 0].mean()) / fresh[dug > 0].std()
    patch = ground[dug > 0].mean() + ground[dug > 0].std() * new
    after = LIGHTS[light](np.where(dug > 0, patch, ground).astype(np.float32))
    return averaged(ground, rng), averaged(np.asarray(after, np.float32), rng), dug > 0


def raw(before: Picture, after: Picture) -> Picture:
    """Difference of the pictures."""
    return np.asarray(cv2.blur((after - before) ** 2, (SIDE, SIDE)), np.float32)


def one_gain(before: Picture, after: Picture) -> Picture:
    """Difference after one straight line for the whole picture."""
    slope, offset = np.polyfit(before.ravel(), after.ravel(), 1)
    return raw(np.asarray(slope * before + offset, np.float32), after)


def correlation(before: Picture, after: Picture) -> Picture:
    """Unlikeness by local normalised correlation."""
    return 1 - local_likeness(before, after, SIDE)


def unlike(before: Picture, after: Picture) -> Picture:
    """What `ground.measure.ground_change` thresholds: difference of locally normalised pictures."""
    first, second = (local_normal(picture, SHELL, floor=2.0) for picture in (before, after))
    return np.asarray(cv2.blur((first - second) ** 2, (9, 9)), np.float32)


def areas(light: str, score: Callable[[Picture, Picture], Picture]) -> list[float]:
    """Areas under the ROC curve over ten scenes."""
    found = []
    for seed in range(10):
        before, after, dug = pair(light, seed)
        found.append(float(roc_auc_score(dug.ravel(), score(before, after).ravel())))
    return found


@pytest.mark.parametrize("light", LIGHTS)
def test_ours_tells_the_dug_patch_in_every_light_and_the_raw_difference_does_not(light: str) -> None:
    plain, likeness, normal = (areas(light, score) for score in (raw, correlation, unlike))
    assert np.median(plain) < 0.9
    assert min(np.median(likeness), np.median(normal)) > 0.95
    assert all(p < min(a, b) for p, a, b in zip(plain, likeness, normal, strict=True))


def test_one_gain_for_the_picture_is_no_help_under_a_hard_shadow() -> None:
    """Where light changes everywhere alike it is enough; a shadow's edge needs the neighbourhood."""
    assert np.median(areas("gain", one_gain)) > 0.97
    shadow = areas("hard shadow", one_gain)
    ours = areas("hard shadow", correlation)
    assert np.median(shadow) < 0.9
    assert all(s < o for s, o in zip(shadow, ours, strict=True))
