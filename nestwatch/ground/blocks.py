"""How far one stretch of a tile's night is from another: by its looks, or by the grain of its ground alone.

Both read means over blocks of an (epochs x epochs) matrix from one integral image.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.records import Floats

Index = NDArray[np.int64]
Numbers = NDArray[np.float64]
Spans = tuple[Index, Index]
"""(n,) first epochs, and (n,) epochs after the last, of n stretches."""
_EDGE_SPAN = 3
_BAND = 3
"""Epochs nearer to each other than this share a shadow's edge that has not moved on, and are not compared."""
_LEAST_GRAIN = 0.1
"""Mean product of a pixel's grain at two times below which the ground is too smooth to be known again."""
_FAINTEST = 0.1
"""Share of the ground's grain that a stretch has to keep of its own: less is a smear of moving edges."""


class Blocks:
    """Means of `matrix` (m, m; NaN = unknown) over rectangular blocks."""

    def __init__(self, matrix: Floats | Numbers) -> None:
        known = np.isfinite(matrix)
        self.size = len(matrix)
        self._sum = _integral(np.where(known, matrix, 0.0))
        self._count = _integral(known.astype(np.float64))

    def mean(self, one: Spans, other: Spans) -> Numbers:
        """(n,) means of the rows of `one` in the columns of `other`; NaN where nothing there is known."""
        (a, b), (c, d) = one, other
        total, count = (x[b, d] - x[a, d] - x[b, c] + x[a, c] for x in (self._sum, self._count))
        out = np.full(len(total), np.nan)
        np.divide(total, count, out=out, where=count > 0)
        return out


def _integral(values: Numbers | Floats) -> Numbers:
    out = np.zeros((values.shape[0] + 1, values.shape[1] + 1))
    np.cumsum(np.cumsum(values, axis=0, dtype=np.float64), axis=1, out=out[1:, 1:])
    return out


class ByLooks:
    """Compared by how a tile looks: `unlikeness` (m, m), see `nestwatch.ground.epochs`."""

    def __init__(self, unlikeness: Floats) -> None:
        self._blocks = Blocks(unlikeness)
        self.size = self._blocks.size

    def gain(self, one: Spans, other: Spans) -> Numbers:
        """(n,) how much `one` differs from `other` beyond how much `other` (the ground) differs from itself;
        NaN where it cannot be told."""
        known = (other[1] - other[0] >= 2) & (one[1] > one[0])
        return np.where(known, self._blocks.mean(one, other) - self._blocks.mean(other, other), np.nan)

    def edges(self) -> Numbers:
        """(size + 1,) how much the epochs before each boundary differ from those after it, beyond both sides'
        own scatter; 0 at the ends and where nothing is known."""
        out = np.zeros(self.size + 1)
        t = np.arange(_EDGE_SPAN, self.size - _EDGE_SPAN + 1)
        before, after = (t - _EDGE_SPAN, t), (t, t + _EDGE_SPAN)
        mean = self._blocks.mean
        # Own blocks are measured without their diagonal of zeros.
        own = 0.5 * _EDGE_SPAN / (_EDGE_SPAN - 1) * (mean(before, before) + mean(after, after))
        out[t] = np.nan_to_num(mean(before, after) - own)
        return out


class ByGrain:
    """Compared by whether the ground's own grain is there: `products` (m, m), mean product of a tile's grain
    at every two epochs, NaN where one was not seen.
    """

    def __init__(self, products: Floats) -> None:
        at = np.arange(len(products))
        self._blocks = Blocks(np.where(np.abs(at[:, None] - at) < _BAND, np.nan, products))
        self.size = self._blocks.size

    def likeness(self, one: Spans, ground: Spans) -> Numbers:
        """(n,) correlation of the mean grain of `one` and of `ground`: 1 for the same ground in whatever
        light, about 0 where something covers it; NaN where the ground has no grain to be known by.

        From products of different times only, so that neither noise nor a shadow's moving edge counts.
        """
        mean = self._blocks.mean
        across, own, base = mean(one, ground), mean(one, one), mean(ground, ground)
        base = np.where(base > _LEAST_GRAIN, base, np.nan)
        return np.minimum(1.0, across / np.sqrt(base * np.fmax(own, _FAINTEST * base)))
