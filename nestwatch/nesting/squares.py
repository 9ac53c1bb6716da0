"""In which squares of the skim picture something changed, slot by slot."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.records import Blob


def occupied(
    blobs: Sequence[Blob], slots: Sequence[int] | NDArray[np.int64], side: float, *, count: int
) -> NDArray[np.bool_]:
    """(count, rows, columns) True where a patch touches a square in a slot.

    `slots`: (n,) the slot of each patch, 0 to `count` - 1. `side`: of the squares in skim pixels, from the
    skim picture's corner. Raises ValueError without a patch.
    """
    rows, columns = (int(max(v) / side) + 1 for v in ([b.row for b in blobs], [b.column for b in blobs]))
    out = np.zeros((count, rows, columns), np.bool_)
    for slot, blob in zip(slots, blobs, strict=True):
        out[slot][_span(blob.row, blob.height, side), _span(blob.column, blob.width, side)] = True
    return out


def _span(middle: float, length: float, side: float) -> slice:
    """The squares that a stretch of pixels touches."""
    return slice(max(0, int((middle - length / 2) / side)), int((middle + length / 2) / side) + 1)
