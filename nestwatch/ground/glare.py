"""Glare: something white before the lens, such as a spider in the infrared light, taken out of a night.

A thing that hangs before the lens is out of focus, lit from a hand's breadth away and so burnt white. Where a
picture is white it shows nothing of the ground: there, and in the blurred rim around it, the last look of
the ground takes its place, and its stirring counts as quiet.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.health_records import Bools
from nestwatch.ground.records import CELL, Bins, Blob, Floats

WHITE = 228  # of limited-range video, where white is 235
_LEAST_SHELLS = 0.35  # shells squared; half a shell seen from above, so that no gleam on one counts
_RIM = 1.25
"""Blurred legs and glow around a white body, in square roots of its area."""
_MOST_SHARE = 0.3
_USUAL_SHARE = 0.5
_EVERY = 4
"""Of how many half minutes one tells what is usual."""


def without_glare(bins: Bins) -> Bins:
    """`bins` with what was white, large and not always there replaced, and where as its `glare`; the same
    object where nothing was. `bins` is used up: a night's pictures are too large to be kept twice.

    White in most of a light spell is a stone or a wall and stays. So does glare over a third of the window,
    which is a lamp and a finding of its own.
    """
    masks = _masks(bins)
    if not masks:
        return bins
    cells = np.zeros(bins.energy.shape, np.bool_)
    for k, mask in masks.items():
        # It comes and goes within a bin, whose median may not show it while its energy does.
        hidden = cv2.resize(mask.astype(np.float32), cells.shape[:0:-1], interpolation=cv2.INTER_AREA) > 0
        cells[max(0, k - 1) : k + 2] |= hidden
    for spell in np.unique(bins.spell):
        members = np.flatnonzero(bins.spell == spell)
        if cells[members].any():
            _fill(bins.median, members, masks)
            _quieten(bins.energy, cells, members)
    return replace(bins, glare=cells)


def outside_glare(blobs: Sequence[Blob], bins: Bins) -> list[Blob]:
    """The patches that moved, less those of what hung before the lens."""
    if bins.glare is None:
        return list(blobs)
    index = np.searchsorted(bins.times, [blob.at for blob in blobs], side="right") - 1
    return [blob for blob, k in zip(blobs, index, strict=True) if not _in_glare(blob, int(k), bins)]


def _in_glare(blob: Blob, k: int, bins: Bins) -> bool:
    assert bins.glare is not None
    row, column = int((blob.row - bins.grid.top) // CELL), int((blob.column - bins.grid.left) // CELL)
    rows, columns = bins.glare.shape[1:]
    return 0 <= row < rows and 0 <= column < columns and bool(bins.glare[k, row, column])


def _masks(bins: Bins) -> dict[int, Bools]:
    """Bin number to the (rows, columns) hidden in it."""
    bright = [k for k in range(len(bins.times)) if bins.median[k].max() > WHITE]
    if not bright:
        return {}
    usual = {
        int(spell): (bins.median[bins.spell == spell][::_EVERY] > WHITE).mean(axis=0) > _USUAL_SHARE
        for spell in np.unique(bins.spell[bright])
    }
    masks = {k: _mask(bins.median[k], usual[int(bins.spell[k])], bins.grid.shell_px) for k in bright}
    return {k: mask for k, mask in masks.items() if mask.any() and mask.mean() < _MOST_SHARE}


def _mask(picture: NDArray[np.uint8], usual: Bools, shell_px: float) -> Bools:
    """Large white patches of a picture, each with a rim in proportion to its size."""
    white = ((picture > WHITE) & ~usual).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(white, connectivity=8)
    out = np.zeros(picture.shape, np.bool_)
    for label in range(1, count):
        area = int(stats[label, cv2.CC_STAT_AREA])
        if area < _LEAST_SHELLS * shell_px**2:
            continue
        away = cv2.distanceTransform((labels != label).astype(np.uint8), cv2.DIST_L2, 3)
        out |= away <= _RIM * np.sqrt(area)
    return out


def _fill(median: NDArray[np.uint8], members: NDArray[np.int64], masks: dict[int, Bools]) -> None:
    """Put the last look in the place of what is hidden; before the first look, the first one."""
    ground = median[members[0]].copy()
    unknown = masks.get(int(members[0]), np.zeros(ground.shape, np.bool_)).copy()
    for k in members[1:]:
        if not unknown.any():
            break
        fresh = unknown & ~masks[int(k)] if int(k) in masks else unknown
        ground[fresh] = median[k][fresh]
        unknown = unknown & ~fresh
    for k in members:
        if int(k) in masks:
            mask = masks[int(k)]
            median[k][mask] = ground[mask]
        ground = median[k]


def _quieten(energy: Floats, cells: Bools, members: NDArray[np.int64]) -> None:
    """Put each cell's usual energy in the place of what is hidden."""
    known = members[np.isfinite(energy[members, 0, 0])]
    if not len(known):
        return
    sample = known[::_EVERY]
    shown = np.sort(np.where(cells[sample], np.inf, energy[sample]), axis=0)
    middle = (~cells[sample]).sum(axis=0) // 2
    usual = np.take_along_axis(shown, middle[None], axis=0)[0]
    quiet = np.where(np.isfinite(usual), usual, np.median(energy[sample], axis=0))
    energy[known] = np.where(cells[known], quiet, energy[known])
