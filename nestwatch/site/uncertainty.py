"""How sure places are over a zone, and where one more stake would help most."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from nestwatch.site.plan import PlanMap
from nestwatch.site.radius import radius_90
from nestwatch.site.records import Point, Zone
from nestwatch.site.sighting import CLICK_PX
from nestwatch.site.survey import TAPE_SIGMA_M

Floats = NDArray[np.float64]

_CANDIDATES = 8  # columns of the raster of places for one more stake


@dataclass(frozen=True, slots=True, eq=False)
class Raster:
    """Places over zones: `pixels` (m, 2) `(x, y)` in the picture, `within_m` (m,) their 90 % radius in
    metres, NaN at or above the horizon."""

    pixels: Floats
    within_m: Floats


@dataclass(frozen=True, slots=True)
class NextStake:
    """Where one more stake helps most: `pixel` in the picture, `at` metres on the plan.

    `before_m`, `after_m`: the 90 % radius that nine tenths of the zone keep within, without it and with it.
    """

    pixel: Point
    at: Point
    before_m: float
    after_m: float


def zone_raster(plan: PlanMap, zones: Sequence[Zone], *, radius_px: float = 0.0, columns: int = 24) -> Raster:
    """The radius over a square raster of places in the zones, `columns` across their width.

    `radius_px` as in `PlanMap.within_m`; 0 shows what marks, tape and lens alone leave open.
    """
    pixels = _raster(zones, columns)
    return Raster(pixels, radius_90(plan.spread(pixels, radius_px)))


def next_stake(plan: PlanMap, zones: Sequence[Zone], *, columns: int = 16) -> NextStake | None:
    """Where in the zones one more mark would shrink the radii most; None where no place is on the plan.

    A new mark, clicked to `CLICK_PX` and taped to `TAPE_SIGMA_M`, adds to what is known of the fit's unknowns
    as any measurement does: C' = (C^-1 + J' S^-1 J)^-1, to first order, without measuring anything.
    """
    places, candidates = _seen(plan, _raster(zones, columns)), _seen(plan, _raster(zones, _CANDIDATES))
    if not len(places) or not len(candidates):
        return None
    slopes = plan.sighting.by_unknowns(places)
    known = np.linalg.pinv(plan.sighting.covariance, hermitian=True)
    after = [
        _worst(slopes, np.linalg.pinv(known + gain, hermitian=True)) for gain in _gains(plan, candidates)
    ]
    best = int(np.argmin(after))
    pixel, at = candidates[best], plan.to_plan(candidates[best])[0]
    before = _worst(slopes, plan.sighting.covariance)
    return NextStake((float(pixel[0]), float(pixel[1])), (float(at[0]), float(at[1])), before, after[best])


def _gains(plan: PlanMap, candidates: Floats) -> Floats:
    """(m, 9, 9) information that a mark at each candidate would bring."""
    slopes, chosen = plan.sighting.by_unknowns(candidates), plan.sighting.by_pixel(candidates)
    spread = CLICK_PX**2 * chosen @ chosen.transpose(0, 2, 1) + TAPE_SIGMA_M**2 * np.eye(2)
    return np.asarray(slopes.transpose(0, 2, 1) @ np.linalg.inv(spread) @ slopes, np.float64)


def _worst(slopes: Floats, covariance: Floats) -> float:
    """90 % radius that nine tenths of the places keep within."""
    return float(np.quantile(radius_90(slopes @ covariance @ slopes.transpose(0, 2, 1)), 0.9))


def _seen(plan: PlanMap, pixels: Floats) -> Floats:
    return np.asarray(pixels[np.isfinite(plan.spread(pixels, 1.0)).all(axis=(1, 2))], np.float64)


def _raster(zones: Sequence[Zone], columns: int) -> Floats:
    area = shapely.union_all([shapely.Polygon(zone.outline) for zone in zones])
    if shapely.is_empty(area):
        return np.empty((0, 2))
    left, top, right, bottom = shapely.bounds(area)
    step = (right - left) / columns
    x = np.arange(left + step / 2, right, step)
    y = np.arange(top + step / 2, bottom, step)
    inside = shapely.contains_xy(area, x[np.newaxis, :], y[:, np.newaxis])
    rows, places = np.nonzero(inside)
    return np.asarray(np.column_stack([x[places], y[rows]]), np.float64)
