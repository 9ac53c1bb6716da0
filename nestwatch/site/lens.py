"""One-parameter lens distortion: the division model x_u = x_d / (1 + bend r²).

Fitzgibbon 2001 (Simultaneous linear estimation of multiple view geometry and lens distortion, CVPR; from
memory). x_d is where something is seen, x_u where a lens without distortion would show it, both from the
picture's centre; r is the distance of x_d from the centre in half diagonals, so that r is 1 in the picture's
corners and `bend` is -0.2 or so for a usual wide lens (barrel), 0 for none.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

BEND_RANGE = (-0.6, 0.3)
"""Beyond these no lens of a fixed camera is expected; a fit that wants to is held there and says so."""
BEND_SIGMA = 0.2
"""What is believed of a lens before any mark is seen: 0 with this standard deviation (our choice)."""
_LEAST_SCALE = 0.05


@dataclass(frozen=True, slots=True)
class Lens:
    """`centre`: `(x, y)` pixels; `unit_px`: pixels of half a diagonal; `bend` as above."""

    centre: tuple[float, float]
    unit_px: float
    bend: float = 0.0

    def straighten(self, pixels: ArrayLike) -> Floats:
        """Picture points (n, 2) -> where a lens without distortion would show them; NaN too far outside."""
        seen = (np.asarray(pixels, np.float64).reshape(-1, 2) - self.centre) / self.unit_px
        return np.asarray(straight(seen, self.bend) * self.unit_px + self.centre, np.float64)

    def distort(self, pixels: ArrayLike) -> Floats:
        """The way back, (n, 2) -> (n, 2); NaN where no picture point corresponds."""
        flat = (np.asarray(pixels, np.float64).reshape(-1, 2) - self.centre) / self.unit_px
        return np.asarray(bent(flat, self.bend) * self.unit_px + self.centre, np.float64)


def lens_of(picture: tuple[int, int]) -> Lens:
    """An undistorted lens over a picture of (width, height)."""
    width, height = picture
    return Lens((width / 2, height / 2), float(np.hypot(width, height)) / 2)


def straight(seen: Floats, bend: float) -> Floats:
    """x_d -> x_u in half diagonals from the centre, (n, 2)."""
    scale = 1 + bend * np.square(seen).sum(axis=1)
    return np.asarray(seen / np.where(scale > _LEAST_SCALE, scale, np.nan)[:, np.newaxis], np.float64)


def bent(flat: Floats, bend: float) -> Floats:
    """x_u -> x_d in half diagonals from the centre, (n, 2): solves bend r_u r_d² - r_d + r_u = 0 near r_u."""
    inner = 1 - 4 * bend * np.square(flat).sum(axis=1)
    root = np.sqrt(np.where(inner >= 0, inner, np.nan))
    return np.asarray(2 * flat / (1 + root)[:, np.newaxis], np.float64)
