"""Registration against known shifts and against scikit-image."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
import pytest
from skimage.registration import phase_cross_correlation

from nestwatch.ground import register
from tests.ground.scenes import soil


def _moved(picture: register.Image, right: float, down: float, turn: float = 0.0) -> register.Image:
    rows, columns = picture.shape
    warp = cv2.getRotationMatrix2D((columns / 2, rows / 2), -turn, 1.0)
    warp[:, 2] += np.array([right, down])
    moved = cv2.warpAffine(picture, warp, (columns, rows), borderMode=cv2.BORDER_REFLECT)
    return np.asarray(moved, np.float32)


def _noisy(picture: register.Image, rng: np.random.Generator, *, gain: float = 1.0) -> register.Image:
    return np.asarray(gain * picture + rng.normal(0, 1.5, picture.shape), np.float32)


STILL = register.Motion(register.STILL, 1.0)
SHIFTS = [(0.25, 0.0), (-0.5, 0.25), (1.0, -0.75), (2.0, 1.5), (7.0, -3.0)]


@pytest.mark.parametrize(("right", "down"), SHIFTS)
@pytest.mark.parametrize("gain", [1.0, 1.25])
def test_known_shift_is_recovered_to_a_quarter_pixel(right: float, down: float, gain: float) -> None:
    rng = np.random.default_rng(7)
    ground = soil(rng)
    reference = register.high_pass(_noisy(ground, rng))
    moving = register.high_pass(_noisy(_moved(ground, right, down), rng, gain=gain))
    found = register.find_motion(reference, moving)
    assert found is not None
    moved = found.shift(*reference.shape)
    assert moved[0] == pytest.approx(right, abs=0.25)
    assert moved[1] == pytest.approx(down, abs=0.25)


def test_shift_agrees_with_scikit_image() -> None:
    """Outside check: scikit-image 0.26 `phase_cross_correlation(normalization=None, upsample_factor=20)`."""
    rng = np.random.default_rng(8)
    ground = soil(rng)
    for right, down in [(0.25, -0.5), (1.5, 0.75), (-2.0, 1.0)]:
        reference = register.high_pass(_noisy(ground, rng))
        moving = register.high_pass(_noisy(_moved(ground, right, down), rng))
        found = register.find_motion(reference, moving)
        theirs = phase_cross_correlation(  # type: ignore[no-untyped-call]
            reference, moving, upsample_factor=20, normalization=None
        )[0]
        assert found is not None
        assert found.shift(*reference.shape)[:2] == pytest.approx((-theirs[1], -theirs[0]), abs=0.15)


def test_a_third_of_a_degree_is_seen() -> None:
    rng = np.random.default_rng(9)
    ground = soil(rng)
    moving = register.high_pass(_noisy(_moved(ground, 3.0, 1.0, turn=0.33), rng))
    found = register.find_motion(register.high_pass(_noisy(ground, rng)), moving)
    assert found is not None
    assert abs(found.shift(*ground.shape)[2]) == pytest.approx(0.33, abs=0.05)


def test_undoing_a_motion_restores_the_picture() -> None:
    rng = np.random.default_rng(10)
    ground = soil(rng)
    moving = _moved(ground, 3.0, -2.0)
    found = register.find_motion(register.high_pass(ground), register.high_pass(moving))
    assert found is not None
    back = register.undo(moving, found.warp)
    inner = np.s_[12:-12, 12:-12]
    assert float(np.abs(back - ground)[inner].mean()) < 0.15 * float(np.abs(moving - ground)[inner].mean())


def test_pictures_without_a_common_ground_are_not_registered() -> None:
    first, second = (register.high_pass(soil(np.random.default_rng(seed))) for seed in (1, 2))
    assert register.find_motion(first, second) is None


def test_the_hard_edges_of_a_moving_shadow_are_not_followed() -> None:
    """Hard shadows of a post and leaves creep by a pixel a picture over ground that lies still."""
    rng = np.random.default_rng(12)
    ground = soil(rng)
    rows, columns = ground.shape

    def shaded(step: int) -> register.Image:
        mask = np.zeros((rows, columns), np.float32)
        cv2.rectangle(mask, (30 + step, 0), (70 + step, rows), (1.0,), -1)
        for k in range(9):
            cv2.circle(mask, (90 + 15 * k + step, 20 + 37 * k % rows), 11, (1.0,), -1)
        return _noisy(np.asarray(ground * (1 - 0.65 * mask), np.float32), rng)

    def lost(prepared: Callable[[register.Image], register.Image]) -> tuple[int, float]:
        """How often no place was found, and how far off the furthest was."""
        reference, motion, none, worst = prepared(_noisy(ground, rng)), STILL, 0, 0.0
        for step in range(1, 25):
            found = register.find_motion(reference, prepared(shaded(step)), start=motion)
            motion, none = found or motion, none + (found is None)
            worst = max(worst, float(np.hypot(*motion.shift(rows, columns)[:2])))
        return none, worst

    def one_spread(picture: register.Image) -> register.Image:
        fine = cv2.GaussianBlur(picture, (0, 0), 1.0) - cv2.GaussianBlur(picture, (0, 0), 12.0)
        return np.asarray(np.clip(fine / fine.std(), -4, 4), np.float32)

    none, worst = lost(register.high_pass)
    assert none == 0
    assert worst < 0.25
    # Against one spread for the whole picture the edges outweigh all the ground.
    assert lost(one_spread)[0] > 12
