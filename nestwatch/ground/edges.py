"""When exactly a stay began and ended: the half minute in which the spot's look changed over."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.normalise import local_normal
from nestwatch.ground.records import Bins, Floats

_REACH_BINS = 12
_MODEL_BINS = 16


def refine_edge(bins: Bins, place: tuple[float, float], edge: int, *, spell: int) -> int:
    """The bin at which the look around `place` (row, column) changes, near bin `edge`.

    `spell`: only bins of this light are used. Returns `edge` where the pictures do not say.
    """
    window = bins.in_light(edge - _REACH_BINS, edge + _REACH_BINS, spell)
    later = bins.in_light(edge + _REACH_BINS // 2, edge + _REACH_BINS // 2 + _MODEL_BINS, spell)
    earlier = bins.in_light(edge - _REACH_BINS // 2 - _MODEL_BINS, edge - _REACH_BINS // 2, spell)
    if len(window) < 4 or len(later) < 3 or len(earlier) < 3:
        return edge
    tiles = _Tiles(bins, place)
    first, second = tiles(earlier).mean(axis=0), tiles(later).mean(axis=0)
    direction = second - first
    progress = (tiles(window) - (first + second) / 2).reshape(len(window), -1) @ direction.ravel()
    split = step_of(progress)
    return int(window[split])


class _Tiles:
    """Locally normalised tiles of one shell length around a place."""

    def __init__(self, bins: Bins, place: tuple[float, float]) -> None:
        reach = max(4, round(0.7 * bins.grid.shell_px))
        row, column = (round(v) for v in place)
        self._rows = slice(max(0, row - 2 * reach), row + 2 * reach + 1)
        self._columns = slice(max(0, column - 2 * reach), column + 2 * reach + 1)
        self._inner = (
            slice(max(0, row - reach) - self._rows.start, row + reach + 1 - self._rows.start),
            slice(max(0, column - reach) - self._columns.start, column + reach + 1 - self._columns.start),
        )
        self._bins, self._side = bins, max(5, round(1.5 * bins.grid.shell_px)) | 1

    def __call__(self, members: NDArray[np.int64]) -> Floats:
        cut = self._bins.median[members, self._rows, self._columns]
        return np.stack([local_normal(picture, self._side)[self._inner] for picture in cut])


def step_of(values: NDArray[np.float64] | Floats, *, most: int | None = None) -> int:
    """Index at which two constants fit `values` best (first element of the second part), at most `most`."""
    total = np.cumsum(values, dtype=np.float64)
    count = np.arange(1, len(values))
    left, right = total[:-1] / count, (total[-1] - total[:-1]) / (len(values) - count)
    gain = count * (len(values) - count) * (right - left) ** 2
    return 1 + int(np.argmax(gain[:most]))
