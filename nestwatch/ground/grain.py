"""The grain of the ground: its finest texture, by which it is known again in whatever light falls on it.

A shadow passes over the grain and leaves it, an animal covers it. Grain is brought to one strength everywhere
(divisive normalisation, as in local contrast normalisation) and averaged over time, so that what moves, such
as the hard edge of a shadow or a leaf, fades out of it.
"""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.edges import step_of
from nestwatch.ground.measure import MIN_SIDE_BINS, distance, sides_of
from nestwatch.ground.normalise import fine_texture, light_level, lit_ground, without_shine
from nestwatch.ground.records import Bins, Floats

Members = NDArray[np.int64]
_REACH_SHELLS, _SPOT_SHELLS, _RIM_SHELLS = 2.2, 0.6, 1.5
_CORE_SHELLS, _BLUR_SHELLS = 0.45, 0.2
_SAMPLES = 48
_PICTURES = 24
_RIM_KNOWN = 0.4
"""Likeness of the rim's grain to itself below which this camera shows no grain to go by."""
_QUARTER = 25
_EDGE_S = 60 * 60.0
"""A lamp lit on the spot before she comes looks like her coming; in invented nights for up to 45 min."""
_CLEAR_TURN = 0.25


def grain(picture: NDArray[np.uint8] | Floats, px: float = 1.0) -> Floats:
    """The finest texture alone, at one strength everywhere: float32, same shape (rows, columns), -2..2.

    `px`: blur in pixels below which texture is noise; the grain is up to three times as wide. A shadow,
    however hard, changes the light on the grain and leaves the grain; its edge, smeared over minutes as it
    moves, is coarser.
    """
    return fine_texture(picture, (px, 3 * px, 6 * px), 2.0)


def grain_kept(bins: Bins, place: tuple[float, float], first: int, last: int) -> float:
    """How much of the ground's grain shows at `place` (row, column) during bins [first, last), against its
    rim: about 1 where only the light changed, 0 where something covers it.

    Of the sides, before and after, the one that is less alike. NaN without a side in the same light, or where
    the rim's grain is not known again either.
    """
    shell = bins.grid.shell_px
    area = _Area(bins, place, int(bins.spell[first]))
    spot, rim = area.far <= _SPOT_SHELLS * shell, area.far > _RIM_SHELLS * shell
    inside, shown = area.grain(np.arange(first, last)), [math.nan]
    for side in sides_of(bins, first, last):
        if len(side) >= MIN_SIDE_BINS and rim.any():
            like = _correlation(inside, area.grain(side), _BLUR_SHELLS * shell)
            around = float(np.median(like[rim]))
            # Half of a spot may lie in leaves or beside the animal; what counts is what is covered.
            told = float(np.percentile(like[spot], _QUARTER)) / around
            shown.append(told if around > _RIM_KNOWN else math.nan)
    return float(np.fmin.reduce(shown))


def covered_span(bins: Bins, place: tuple[float, float], first: int, last: int) -> tuple[int, int]:
    """[first, last) moved to the bins, up to `_EDGE_S` away, in which the ground's grain at `place` went and
    came back; an edge stays where the grain does not tell."""
    area = _Area(bins, place, int(bins.spell[first]))
    spot = area.far <= _CORE_SHELLS * bins.grid.shell_px
    before, after = sides_of(bins, first, last)
    reach, middle = round(_EDGE_S / bins.step_s), (first + last) // 2
    went = bins.in_light(max(0, first - reach), min(first + reach, middle), bins.spell[first])
    came = bins.in_light(max(last - reach, middle), last + reach, bins.spell[last - 1])
    start = _turn(area, spot, before, went, gone=True)
    end = _turn(area, spot, after, came, gone=False)
    return first if start is None else start, last if end is None else end


def _turn(
    area: _Area, spot: NDArray[np.bool_], ground: Members, around: Members, *, gone: bool
) -> int | None:
    """The first of the bins `around` in which the grain of the bins `ground` is gone, or is back again."""
    if len(ground) < MIN_SIDE_BINS or len(around) < 2 * MIN_SIDE_BINS:
        return None
    like = area.grain(ground)[spot]
    looks = [area.one(k)[spot] for k in around]
    # Correlation, as the grain is weaker in a shadow and still there.
    shown = np.array([float(look @ like) / max(float(np.linalg.norm(look)), 1e-3) for look in looks])
    shown /= max(float(np.linalg.norm(like)), 1e-3)
    split = step_of(shown)
    fall = float(shown[:split].mean() - shown[split:].mean())
    return int(around[split]) if (fall if gone else -fall) > _CLEAR_TURN else None


class _Area:
    """A square of the window around a place. `far`: distance of each of its pixels from the place."""

    def __init__(self, bins: Bins, place: tuple[float, float], spell: int) -> None:
        row, column = place
        reach = round(_REACH_SHELLS * bins.grid.shell_px)
        top, left = max(0, round(row) - reach), max(0, round(column) - reach)
        self._pictures = bins.median[:, top : round(row) + reach, left : round(column) + reach]
        same = np.flatnonzero(bins.spell == spell)
        some = same[:: max(1, len(same) // _PICTURES)]
        self._bins = bins
        levels = np.array([light_level(bins.median[k]) for k in some])
        self._ground = lit_ground(self._pictures[some], levels, 3 * round(bins.grid.shell_px) | 1)
        self.far = distance(self._pictures.shape[1:], (row - top, column - left))

    def one(self, member: int) -> Floats:
        """Grain of one bin, leaves and stones that shine left out: they lie over the animal and stay."""
        level = light_level(self._bins.median[member])
        return grain(without_shine(self._pictures[member], self._ground, level))

    def grain(self, members: Members) -> Floats:
        """Mean grain of some bins, evenly picked."""
        chosen = members[:: max(1, math.ceil(len(members) / _SAMPLES))]
        return np.asarray(np.mean([self.one(k) for k in chosen], axis=0), np.float32)


def _correlation(first: Floats, second: Floats, blur: float) -> Floats:
    """Correlation of two zero-mean pictures around each pixel, -1..1."""
    cross, a, b = (cv2.GaussianBlur(p, (0, 0), blur) for p in (first * second, first**2, second**2))
    return np.asarray(cross / np.sqrt(np.maximum(a * b, 1e-6)), np.float32)
