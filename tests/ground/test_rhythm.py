"""Limb rhythm at known cadence, with the pulse of key frames present."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from nestwatch.footage.records import Burst
from nestwatch.ground.rhythm import burst_motion

SPOT = (36.0, 36.0)


def _burst(
    cadence_hz: float | None, *, key_s: float, seed: int, seconds: float = 40.0, fps: float = 6.0
) -> Burst:
    """Strokes of a hind foot at `cadence_hz` in noise; each key frame softens the whole picture a little."""
    rng = np.random.default_rng(seed)
    count = int(seconds * fps)
    times = np.arange(count) / fps
    rows, columns = np.indices((72, 72))
    ground = rng.normal(80, 12, (72, 72))
    key = np.floor(times / key_s) != np.floor((times - 1 / fps) / key_s)
    out = np.empty((count, 72, 72), np.uint8)
    fresh = 0.0
    for i, t in enumerate(times):
        fresh = 1.0 if key[i] else fresh * 0.75
        picture = ground + fresh * 4 * np.sin(rows * 0.9) * np.sin(columns * 0.7)
        if cadence_hz is not None:
            swing = 3.0 * np.sin(2 * np.pi * cadence_hz * t)
            picture = picture - 25 * np.exp(-((rows - 42 - swing) ** 2 + (columns - 36) ** 2) / 12)
        out[i] = np.clip(picture + rng.normal(0, 3, picture.shape), 0, 255)
    return Burst(times + 1.78e9, out, key, 1.0, (0, 0))


@pytest.mark.parametrize("cadence_hz", [0.15, 0.33, 0.62])
@pytest.mark.parametrize("key_s", [2.0, 4.0])
def test_cadence_is_recovered_beside_the_key_frame_rhythm(cadence_hz: float, key_s: float) -> None:
    motion = burst_motion(_burst(cadence_hz, key_s=key_s, seed=1), SPOT, 24.0)
    assert motion is not None
    assert motion.energy > 1.0
    # A stroke passes the middle twice a cycle: the second harmonic may be the louder line.
    assert min(abs(motion.peak_hz - cadence_hz), abs(motion.peak_hz - 2 * cadence_hz)) < 0.05
    assert motion.peak_ratio > 4


@pytest.mark.parametrize("key_s", [2.0, 4.0])
def test_key_frames_alone_are_no_limbs(key_s: float) -> None:
    motion = burst_motion(_burst(None, key_s=key_s, seed=2), SPOT, 24.0)
    assert motion is not None
    assert motion.energy < 0.3


def test_movement_is_placed() -> None:
    motion = burst_motion(_burst(0.33, key_s=2.0, seed=3), SPOT, 24.0)
    assert motion is not None
    weight = motion.spread**2
    rows, columns = np.indices(weight.shape)
    assert (weight * rows).sum() / weight.sum() == pytest.approx(42, abs=2)
    assert (weight * columns).sum() / weight.sum() == pytest.approx(36, abs=2)


def test_a_short_burst_says_nothing() -> None:
    assert burst_motion(_burst(0.3, key_s=2.0, seed=4, seconds=3.0), SPOT, 24.0) is None


def test_a_blade_that_sways_on_one_side_of_the_rim_does_not_hide_the_limbs() -> None:
    burst = _burst(0.33, key_s=2.0, seed=4)
    rows, columns = np.indices(burst.luma.shape[1:])
    sway = 4.0 * np.sin(2 * np.pi * 0.5 * burst.times)[:, None, None]
    blade = 60 * np.exp(-((columns - 6 - sway) ** 2) / 6) * (rows > 50)
    swaying = replace(burst, luma=np.clip(burst.luma + blade, 0, 255).astype(np.uint8))
    motion = burst_motion(swaying, SPOT, 24.0)
    assert motion is not None
    assert motion.energy > 1.0
