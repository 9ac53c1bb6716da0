"""Places on the plan from several cameras: whether two can be one, and what they come to together.

What cameras get wrong falls in two parts. How each camera's picture lies on the plan (clicks, lens, the slant
of its view) is its own affair, and independent of the others. Where under the animal the eggs lie is guessed
by the same reasoning in each, so those errors may go together: two cameras that both mistake the head for the
tail are no surer than one. Fusing by inverse covariance counts the first part, and for the second the largest
error that any correlation could give (split covariance intersection, Julier & Uhlmann 2001, Handbook of
Multisensor Data Fusion, ch. 12).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

Floats = NDArray[np.float64]
_LEAST_SHARE = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class PlanPlace:
    """A place on the plan as one camera gives it.

    `at`: (2,) metres. `own`: (2, 2) covariance in square metres of what is wrong with this camera alone;
    `shared`: (2, 2), of what other cameras may get wrong in the same way.
    """

    at: Floats
    own: Floats
    shared: Floats

    @property
    def covariance(self) -> Floats:
        """(2, 2) square metres, both parts together."""
        return self.own + self.shared


def apart(one: PlanPlace, other: PlanPlace) -> float:
    """Squared Mahalanobis distance of two places; chi-square with 2 degrees of freedom where they are one."""
    difference = one.at - other.at
    return float(difference @ np.linalg.solve(one.covariance + other.covariance, difference))


def fused(places: Sequence[PlanPlace]) -> PlanPlace:
    """One place from one or more: each weighted by its inverse covariance.

    Without shared parts this is the weighted mean of inverse variances (Bevington & Robinson 2003, Data
    Reduction and Error Analysis, 4.1). Raises ValueError without places.
    """
    if not places:
        raise ValueError("no place to fuse; give one camera's at least")
    return reduce(_pair, places)


def _pair(one: PlanPlace, other: PlanPlace) -> PlanPlace:
    if not one.shared.any() or not other.shared.any():
        return _weighted(one, other, 0.5)

    def spread(share: float) -> float:
        return float(np.trace(_weighted(one, other, share).covariance))

    # At the ends all trust goes to one camera: what it shares is then no reason to doubt it.
    best = minimize_scalar(spread, bounds=(_LEAST_SHARE, 1 - _LEAST_SHARE), method="bounded")
    return _weighted(one, other, float(best.x))


def _weighted(one: PlanPlace, other: PlanPlace, share: float) -> PlanPlace:
    """`one` and `other` with their shared parts widened by 1 / `share` and 1 / (1 - `share`)."""
    if not one.shared.any() or not other.shared.any():
        first, second = one.covariance, other.covariance
    else:
        first, second = one.own + one.shared / share, other.own + other.shared / (1 - share)
    total = np.linalg.inv(np.linalg.inv(first) + np.linalg.inv(second))
    gains = total @ np.linalg.inv(first), total @ np.linalg.inv(second)
    at = gains[0] @ one.at + gains[1] @ other.at
    own = gains[0] @ one.own @ gains[0].T + gains[1] @ other.own @ gains[1].T
    return PlanPlace(at, own, total - own)
