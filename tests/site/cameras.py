"""A camera over a pen, placed by hand, with and without a bent lens. Shares no code with what it judges."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

PICTURE = (960, 540)
HALF_DIAGONAL = float(np.hypot(480, 270))
EYE = (2.1, -0.5, 2.5)
RING = np.array([[0, 0], [4.2, 0], [4.2, 3.0], [0, 3.0], [2.1, 0.1], [1.0, 2.0], [3.0, 1.4], [2.0, 2.9]])


def bend_pixels(pixels: Floats, bend: float) -> Floats:
    """Undistorted -> distorted by x_u = x_d / (1 + bend r²), by halved fixed-point steps, no formula."""
    flat = (pixels - [480, 270]) / HALF_DIAGONAL
    out = flat.copy()
    for _ in range(200):
        out = (out + flat * (1 + bend * np.square(out).sum(axis=1))[:, np.newaxis]) / 2
    return np.asarray(out * HALF_DIAGONAL + [480, 270], np.float64)


def seen(plan: Floats, *, height: float = 0.0, bend: float = 0.0) -> Floats:
    """Pixels (n, 2) of plan points (n, 2) at a height. Pinhole at `EYE`, looking north 40 degrees below the
    horizon; focal length 520 px, principal point (480, 270)."""
    tilt = np.radians(40)
    offset = np.column_stack([plan, np.full(len(plan), height)]) - EYE
    right = np.array([1.0, 0, 0])
    forward = np.array([0, np.cos(tilt), -np.sin(tilt)])
    down = np.cross(forward, right)
    depth = offset @ forward
    pixels = np.column_stack([offset @ right, offset @ down]) * (520 / depth)[:, np.newaxis] + [480, 270]
    return bend_pixels(pixels, bend) if bend else np.asarray(pixels, np.float64)


def places(count: int, seed: int) -> Floats:
    """Random places in the pen, (count, 2) metres."""
    return np.random.default_rng(seed).uniform([0.2, 0.2], [4.0, 2.8], (count, 2))
