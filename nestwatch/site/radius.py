"""The radius that holds a place in 90 % of cases, from its covariance.

For a normal error with standard deviations a >= b along its axes, P(error < R) is an integral over directions
(the density in polar coordinates, integrated outward by hand). R / a depends on b / a only: from 1.645 (all
error on one line, the two-sided 90 % point of the normal) to 2.146 (round, sqrt(-2 ln 0.1)).
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

Floats = NDArray[np.float64]

SHARE = 0.9
ROUND = float(np.sqrt(-2 * np.log(1 - SHARE)))
"""90 % radius of a round normal error, in standard deviations each way: 2.146."""
_RATIOS = np.linspace(0, 1, 41)
_THINNEST = 0.01


def radius_90(covariance: Floats) -> Floats:
    """(..., 2, 2) square metres -> (...) metres; NaN where the covariance is NaN."""
    known = np.asarray(np.isfinite(covariance).all(axis=(-1, -2)))
    sizes = np.linalg.eigvalsh(np.where(known[..., np.newaxis, np.newaxis], covariance, 0.0))
    minor, major = np.sqrt(np.maximum(sizes[..., 0], 0)), np.sqrt(np.maximum(sizes[..., 1], 0))
    ratio = minor / np.where(major > 0, major, 1.0)
    return np.asarray(np.where(known, major * np.interp(ratio, _RATIOS, _table()), np.nan), np.float64)


@cache
def _table() -> Floats:
    return np.array([_radius(max(float(ratio), _THINNEST)) for ratio in _RATIOS])


def _radius(ratio: float) -> float:
    """R for standard deviations 1 and `ratio`."""
    turn = (np.arange(2000) + 0.5) * (np.pi / 2000)
    inverse = np.square(np.cos(turn)) + np.square(np.sin(turn) / ratio)

    def inside(radius: float) -> float:
        held = (1 - np.exp(-0.5 * radius**2 * inverse)) / inverse
        return float(held.mean() / ratio)

    return float(brentq(lambda radius: inside(radius) - SHARE, 1.0, 3.0))
