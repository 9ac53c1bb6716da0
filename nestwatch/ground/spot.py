"""How one spot stirred through a stay, half minute by half minute, without the grain of the picture."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import uniform_filter1d

from nestwatch.ground.records import CELL, Bins, Floats

_OUTSIDE_S = 30 * 60.0
_GUARD_S = 180.0
_LEAST_BINS = 10
_QUIET_NOISE = 0.12
"""Spread (log ratio) of undisturbed ground from half minute to half minute that needs no smoothing: 0.07 to
0.16 on invented building nights of an ordinary camera, 0.2 to 0.3 in snow, moths or starved HEVC."""
_WIDEST = 7


def series_at(
    bins: Bins, stir: Floats, place: tuple[float, float], span: tuple[int, int], *, reach_px: float
) -> Floats:
    """(n,) stirring of the most active cell within `reach_px` of `place` (row, column), bins [first, last).

    Where the ground itself flickers more than usual before and after, the series is averaged over as many
    half minutes as bring it down to the usual: 1 to 7. NaN where a bin had no energy.
    """
    first, last = span
    row, column = (int(v // CELL) for v in place)
    reach = max(1, round(reach_px / CELL))
    part = stir[:, max(0, row - reach) : row + reach + 1, max(0, column - reach) : column + reach + 1]
    total = np.clip(np.nan_to_num(part[first:last]), 0.0, 1.5).mean(axis=0)
    best = np.unravel_index(int(np.argmax(total)), total.shape)
    series = part[first:last, best[0], best[1]]
    return _averaged(series, _width(_noise(bins, part, first, last)))


def _noise(bins: Bins, part: Floats, first: int, last: int) -> float:
    """Robust spread of the cells of `part` in the half hours before and after the stay; NaN if not seen."""
    guard, reach = round(_GUARD_S / bins.step_s), round(_OUTSIDE_S / bins.step_s)
    sides = [
        bins.in_light(first - guard - reach, first - guard, int(bins.spell[first])),
        bins.in_light(last + guard, last + guard + reach, int(bins.spell[last - 1])),
    ]
    spreads = [_spread(part[side]) for side in sides if len(side) >= _LEAST_BINS]
    return float(np.min(spreads)) if spreads else float("nan")


def _spread(cells: Floats) -> float:
    """Median over cells of each one's robust spread in time."""
    middle = np.nanmedian(cells, axis=0)
    return float(np.median(1.4826 * np.nanmedian(np.abs(cells - middle), axis=0)))


def _width(noise: float) -> int:
    """Odd number of half minutes whose mean has the usual noise."""
    if not noise > _QUIET_NOISE:
        return 1
    return int(min(_WIDEST, 2 * round(((noise / _QUIET_NOISE) ** 2 - 1) / 2) + 1))


def _averaged(series: Floats, width: int) -> Floats:
    """Mean over `width` neighbours, unknown ones left out; NaN stays NaN."""
    known = np.isfinite(series)
    if width == 1 or not known.any():
        return np.asarray(series)
    total = uniform_filter1d(np.where(known, series, 0.0), width, mode="nearest")
    share = uniform_filter1d(known.astype(np.float32), width, mode="nearest")
    mean = np.divide(total, share, out=np.zeros_like(total), where=share > 0)
    return np.asarray(np.where(known, mean, np.nan), np.float32)
