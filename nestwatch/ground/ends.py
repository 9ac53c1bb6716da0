"""Which end of an animal works: the hind feet dig, but head and fore feet search the spot before that."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.edges import step_of
from nestwatch.ground.records import CELL, Bins
from nestwatch.ground.stir import FLOOR

Place = tuple[float, float]
_AHEAD, _BEHIND = 0.62, -0.58
"""Where heads and hind feet are, in shell lengths from the shell's centre along its axis."""
_WIDTH = 0.25
_LONGEST_S = 30 * 60.0
_WINDOW_S = 45 * 60.0
_LEAST_BINS = 4
_LEAST_STEP = 0.2
_CLEAR = 5.0
_PAUSING = 20.0
"""Per cent of a dig in which she is taken to pause."""


def rear_over_front(bins: Bins, centre: Place, rear: Place, first: int, last: int) -> NDArray[np.float64]:
    """(last - first,) log energy around the hind feet over that around the head; NaN where none is known.

    `centre`, `rear`: (row, column) of the shell's centre and of any place behind it, window pixels.
    """
    away = (centre[0] - rear[0], centre[1] - rear[1])
    size = math.hypot(*away)
    ahead = (away[0] / size, away[1] / size)
    part = bins.energy[first:last].astype(np.float64)
    front, back = (
        np.tensordot(part, _spot(bins, centre, ahead, share), axes=((1, 2), (0, 1)))
        for share in (_AHEAD, _BEHIND)
    )
    return np.asarray(np.log(back + FLOOR) - np.log(front + FLOOR))


def _spot(bins: Bins, centre: Place, ahead: Place, share: float) -> NDArray[np.float64]:
    """Weights (rows, columns of cells, sum 1) around the place `share` shells ahead of `centre`."""
    shell = bins.grid.shell_px
    row, column = (c + share * shell * a for c, a in zip(centre, ahead, strict=True))
    rows, columns = ((np.indices(bins.energy.shape[1:]) + 0.5) * CELL) - 0.5
    # Cells are not finer than their own side.
    width = max(_WIDTH * shell, 0.5 * CELL)
    weight = np.exp(-((rows - row) ** 2 + (columns - column) ** 2) / (2 * width**2))
    return np.asarray(weight / max(float(weight.sum()), 1e-12))


def dig_begins(bins: Bins, centre: Place, rear: Place, first: int, last: int) -> int:
    """The bin from which on the hind end works and no longer the front, within bins [first, last).

    Returns `first` where no clear step up is seen in the first half hour: she dug at once, or it cannot
    be told.
    """
    if rear == centre:
        return first
    stop = min(last, first + round(_WINDOW_S / bins.step_s))
    ratio = rear_over_front(bins, centre, rear, first, stop)
    known = np.flatnonzero(np.isfinite(ratio) & (bins.spell[first:stop] == bins.spell[first]))
    if len(known) < 2 * _LEAST_BINS:
        return first
    values = ratio[known]
    split = step_of(values, most=round(_LONGEST_S / bins.step_s))
    before, after = values[:split], values[split:]
    if min(len(before), len(after)) < _LEAST_BINS or len(after) < 0.5 * len(before):
        return first
    error = math.hypot(before.std() / math.sqrt(len(before)), after.std() / math.sqrt(len(after)))
    gap = float(after.mean() - before.mean())
    clear = gap > max(_LEAST_STEP, _CLEAR * error)
    # With neither end at work the ratio lies between; a long pause in a dig is no search.
    front_led = np.median(before) < np.percentile(after, _PAUSING)
    return first + int(known[split]) if clear and front_led else first
