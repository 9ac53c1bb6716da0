"""Patches that change between two skim frames: what walks, flies or flashes through the picture."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.records import CELL, Blob

_MIN_CHANGE = 6.0
_NOISE_FACTOR = 4.0
_MAX_BLOBS = 12


def changed_blobs(difference: NDArray[np.uint8], *, at: float) -> list[Blob]:
    """The largest changed patches of `difference` (uint8 absolute difference, (rows, columns)), at most 12.

    A cell counts as changed above four times the frame's own median change: noise, gain and rain raise
    that median with them.
    """
    rows, columns = difference.shape
    size = (max(1, columns // CELL), max(1, rows // CELL))
    cells = cv2.resize(difference, size, interpolation=cv2.INTER_AREA)
    threshold = max(_MIN_CHANGE, _NOISE_FACTOR * float(np.median(cells[::2, ::2])))
    changed = cv2.threshold(cells, threshold, 255, cv2.THRESH_BINARY)[1].astype(np.uint8)
    if not changed.any():
        return []
    count, labels, stats, centres = cv2.connectedComponentsWithStats(changed, connectivity=8)
    order = 1 + np.argsort(stats[1:count, cv2.CC_STAT_AREA])[::-1][:_MAX_BLOBS]
    parts = (np.asarray(labels, np.int32), np.asarray(stats, np.int32), np.asarray(centres, np.float64))
    return [_blob(int(i), *parts, np.asarray(cells, np.uint8), at) for i in order]


def _blob(
    i: int,
    labels: NDArray[np.int32],
    stats: NDArray[np.int32],
    centres: NDArray[np.float64],
    cells: NDArray[np.uint8],
    at: float,
) -> Blob:
    left, top, width, height, area = (int(v) for v in stats[i])
    part = labels[top : top + height, left : left + width] == i
    change = float(cells[top : top + height, left : left + width][part].mean())
    row, column = (float(v + 0.5) * CELL for v in (centres[i][1], centres[i][0]))
    return Blob(at, row, column, float(area * CELL**2), float(height * CELL), float(width * CELL), change)
