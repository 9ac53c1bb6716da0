"""One camera fitted to its marks: ground plane -> picture by a homography and one lens parameter.

A flat pen seen through a lens without distortion maps to the picture by a homography (Hartley & Zisserman,
Multiple View Geometry, 2nd ed., chapter 2; from memory). Fitted plan -> picture by weighted least squares: a
mark is off by the click (same size all over the picture) and by the tape (posts, brought into the picture to
first order, Criminisi et al. 1997, bmva-archive.org.uk/bmvc/1997/papers/057). What is believed of the lens
before any mark is seen is one more measurement, so that too few marks leave a wide, not a false, answer.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from nestwatch.site.adjustment import Adjustment, adjust
from nestwatch.site.lens import BEND_RANGE, BEND_SIGMA, Lens, bent, straight

Floats = NDArray[np.float64]

CLICK_PX = 2.0
"""How far a click on a post is off, standard deviation in pixels each way."""
UNKNOWNS = 9  # eight of the homography, one of the lens
_STEP = 1e-6
_STARTS = (0.0, -0.2)
_MOST_STEPS = 60  # sound marks need about six; those that contradict each other need not be exact


@dataclass(frozen=True, slots=True, eq=False)
class Sighting:
    """A fitted camera. `unknowns`: (9,) the homography's first eight entries in scaled coordinates (the ninth
    is 1), then `bend`. `covariance`: (9, 9) of them. `lens`: centre and unit of the picture coordinates.
    `middle` (2,), `size_m`: plan coordinates are scaled by these. `adjustment`: residuals of the marks in the
    order x, y of the first, x, y of the second and so on, the belief in the lens last.
    """

    unknowns: Floats
    covariance: Floats
    lens: Lens
    middle: Floats
    size_m: float
    adjustment: Adjustment

    def to_picture(self, plan: Floats, unknowns: Floats | None = None) -> Floats:
        """Plan (n, 2) metres -> pixels (n, 2), NaN behind the camera; with other unknowns where given."""
        values = self.unknowns if unknowns is None else unknowns
        flat = _through(_matrix(values), (plan - self.middle) / self.size_m)
        return np.asarray(bent(flat, values[8]) * self.lens.unit_px + self.lens.centre, np.float64)

    def to_plan(self, pixels: Floats, unknowns: Floats | None = None) -> Floats:
        """Pixels (n, 2) -> plan (n, 2) metres, NaN at or above the horizon."""
        values = self.unknowns if unknowns is None else unknowns
        flat = straight((pixels - self.lens.centre) / self.lens.unit_px, values[8])
        back = np.linalg.inv(_matrix(values))
        # The marks' middle has depth 1; a point is in front where its depth, 1 / (third row), is positive.
        return np.asarray(
            _through(np.asarray(back, np.float64), flat) * self.size_m + self.middle, np.float64
        )

    def matrix(self) -> Floats:
        """(3, 3) plan metres -> pixels as a lens without distortion would show them."""
        unit, (x, y) = self.lens.unit_px, self.lens.centre
        into = np.array([[1, 0, -self.middle[0]], [0, 1, -self.middle[1]], [0, 0, self.size_m]]) / self.size_m
        out = np.array([[unit, 0, x], [0, unit, y], [0, 0, 1]])
        return np.asarray(out @ _matrix(self.unknowns) @ into, np.float64)

    def by_pixel(self, pixels: Floats) -> Floats:
        """(n, 2, 2) derivatives of `to_plan`: metres per pixel."""
        return _differences(lambda step: self.to_plan(pixels + step), 2, 1e-3)

    def by_unknowns(self, pixels: Floats) -> Floats:
        """(n, 2, 9) derivatives of `to_plan` with the unknowns."""
        return _differences(lambda step: self.to_plan(pixels, self.unknowns + step), UNKNOWNS, _STEP)


def fit_sighting(
    plan: Floats,
    pixels: Floats,
    lens: Lens,
    *,
    click_px: float = CLICK_PX,
    posts: Floats | None = None,
    straight_lens: bool = False,
) -> Sighting | None:
    """Fit four or more marks: `plan` (n, 2) metres, `pixels` (n, 2). `posts`: (2n, 2n) covariance of `plan`.

    `straight_lens` holds the lens undistorted; the covariance then holds no doubt of the lens either.
    A lens that wants to leave `BEND_RANGE` is held at its edge.
    None where the marks do not fix a homography.
    """
    middle = plan.mean(axis=0)
    size = max(float(np.sqrt(np.square(plan - middle).sum(axis=1).mean())), 1e-9)
    empty = np.zeros((UNKNOWNS, UNKNOWNS))
    begun = Sighting(np.zeros(UNKNOWNS), empty, lens, middle, size, adjust(empty, np.zeros(9), np.eye(9)))
    starts, free = (_STARTS[:1], 8) if straight_lens else (_STARTS, UNKNOWNS)
    tried = [_refined(begun, plan, pixels, bend, click_px, posts, free) for bend in starts]
    found = [one for one in tried if one is not None]
    return min(found, key=lambda one: one.adjustment.misfit) if found else None


def _refined(
    begun: Sighting,
    plan: Floats,
    pixels: Floats,
    bend: float,
    click_px: float,
    posts: Floats | None,
    free: int,
) -> Sighting | None:
    start = _start(begun, plan, pixels, bend)
    if start is None:
        return None
    spread = _spread(replace(begun, unknowns=start), plan, click_px, posts)
    if not np.isfinite(spread).all():
        return None
    white = np.linalg.inv(np.linalg.cholesky(spread))

    def off(values: Floats) -> Floats:
        with np.errstate(over="ignore", invalid="ignore"):  # steps may try cameras that see nothing
            miss = (begun.to_picture(plan, values) - pixels).ravel()
        return np.append(np.where(np.isfinite(miss), miss, 1e6), values[8])

    def slope(values: Floats) -> Floats:
        return _differences(lambda step: off(values + step)[:, np.newaxis], UNKNOWNS, _STEP)[:, 0]

    def solve(values: Floats, free: int) -> Floats:
        fitted = least_squares(
            lambda v: white @ off(np.append(v, values[free:])),
            values[:free],
            jac=lambda v: white @ slope(np.append(v, values[free:]))[:, :free],
            method="lm",
            xtol=1e-10,
            ftol=1e-10,
            max_nfev=_MOST_STEPS,
        )
        return np.append(fitted.x, values[free:])

    values = solve(start, free)
    if not BEND_RANGE[0] <= values[8] <= BEND_RANGE[1]:
        values = solve(np.append(start[:8], np.clip(values[8], *BEND_RANGE)), 8)
    result = adjust(slope(values)[:, :free], off(values), spread)
    covariance = np.zeros((UNKNOWNS, UNKNOWNS))
    covariance[:free, :free] = result.covariance
    return replace(begun, unknowns=values, covariance=covariance, adjustment=result)


def _start(begun: Sighting, plan: Floats, pixels: Floats, bend: float) -> Floats | None:
    flat = straight((pixels - begun.lens.centre) / begun.lens.unit_px, bend)
    matrix, _ = cv2.findHomography((plan - begun.middle) / begun.size_m, flat, 0)
    if matrix is None or abs(matrix[2, 2]) < 1e-9 or not np.isfinite(matrix).all():
        return None
    return np.append((np.asarray(matrix, np.float64) / matrix[2, 2]).ravel()[:8], bend)


def _spread(begun: Sighting, plan: Floats, click_px: float, posts: Floats | None) -> Floats:
    """(2n + 1, 2n + 1) covariance of what the marks measure, and of the belief in the lens."""
    count = 2 * len(plan)
    spread = np.eye(count + 1) * click_px**2
    if posts is not None:
        blocks = _differences(lambda step: begun.to_picture(plan + step), 2, 1e-4)
        slopes = np.zeros((count, count))
        for n, block in enumerate(blocks):
            slopes[2 * n : 2 * n + 2, 2 * n : 2 * n + 2] = block
        spread[:count, :count] += slopes @ posts @ slopes.T
    spread[count, count] = BEND_SIGMA**2
    return spread


def _matrix(unknowns: Floats) -> Floats:
    return np.append(unknowns[:8], 1.0).reshape(3, 3)


def _through(matrix: Floats, points: Floats) -> Floats:
    """(n, 2) -> (n, 2), NaN where the third coordinate is not positive."""
    mapped = points @ matrix[:, :2].T + matrix[:, 2]
    depth = np.where(mapped[:, 2] > 1e-9, mapped[:, 2], np.nan)
    return np.asarray(mapped[:, :2] / depth[:, np.newaxis], np.float64)


def _differences(function: Callable[[Floats], Floats], count: int, step: float) -> Floats:
    """Central differences: `function(step vector)` gives (n, k); returns (n, k, count)."""
    steps = step * np.eye(count)
    columns = [(function(one) - function(-one)) / (2 * step) for one in steps]
    return np.asarray(np.stack(columns, axis=-1), np.float64)
