"""Boxes in time: stretches in which a tile differs from the ground before *and* after.

We work offline, so both sides are known: no running model that would absorb an animal that stays (an
eigen-decomposition or a background average would too). From a tile's self-unlikeness matrix the means over
any block of (epochs x epochs) come from one integral image.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.epochs import Epochs, tile_corners, unlikeness
from nestwatch.ground.records import Box, Floats

Index = NDArray[np.int64]
_EDGE_SPAN = 3
_MIN_EDGE = 0.10
_MAX_EDGES = 14
_SIDE_S = 45 * 60.0
_GUARD = 1
_GROUND_WEIGHT = 0.5


class Blocks:
    """Means of `matrix` (m, m; NaN = unknown) over rectangular blocks."""

    def __init__(self, matrix: Floats) -> None:
        known = np.isfinite(matrix)
        self.size = len(matrix)
        self._sum = _integral(np.where(known, matrix, 0.0))
        self._count = _integral(known.astype(np.float64))

    def mean(self, a: int, b: int, c: int, d: int) -> float:
        """Mean of rows [a, b) x columns [c, d); NaN when nothing in it is known."""
        count = self._block(self._count, a, b, c, d)
        return self._block(self._sum, a, b, c, d) / count if count else float("nan")

    def _block(self, table: NDArray[np.float64], a: int, b: int, c: int, d: int) -> float:
        return float(table[b, d] - table[a, d] - table[b, c] + table[a, c])

    def edges(self, span: int) -> NDArray[np.float64]:
        """(m + 1,) how much the `span` epochs before each boundary differ from those after it, beyond
        their own scatter; 0 at the ends and where nothing is known."""
        out = np.zeros(self.size + 1)
        t = np.arange(span, self.size - span + 1)
        across = self._means(t - span, t, t, t + span)
        # Own blocks are measured without their diagonal of zeros.
        scale = 0.5 * span / (span - 1)
        own = scale * (self._means(t - span, t, t - span, t) + self._means(t, t + span, t, t + span))
        out[t] = np.nan_to_num(across - own)
        return out

    def _means(self, a: Index, b: Index, c: Index, d: Index) -> NDArray[np.float64]:
        total, count = (x[b, d] - x[a, d] - x[b, c] + x[a, c] for x in (self._sum, self._count))
        out = np.full(len(total), np.nan)
        np.divide(total, count, out=out, where=count > 0)
        return out


def _integral(values: NDArray[np.float64] | Floats) -> NDArray[np.float64]:
    out = np.zeros((values.shape[0] + 1, values.shape[1] + 1))
    np.cumsum(np.cumsum(values, axis=0, dtype=np.float64), axis=1, out=out[1:, 1:])
    return out


@dataclass(frozen=True, slots=True)
class Limits:
    """What counts as a box. Times in seconds; `score` 0..1."""

    shortest_s: float = 8 * 60.0
    longest_s: float = 7 * 3600.0
    score: float = 0.16


def find_boxes(epochs: Epochs, wanted: NDArray[np.bool_], *, limits: Limits | None = None) -> list[Box]:
    """Every box of every tile whose centre is inside `wanted`: bool (rows/2, columns/2), half-size pixels."""
    limits = limits or Limits()
    out: list[Box] = []
    for corner in tile_corners(epochs):
        centre = (corner[0] + epochs.side // 2, corner[1] + epochs.side // 2)
        if wanted[centre] and _changes(epochs, corner):
            out.extend(_tile_boxes(epochs, corner, limits))
    return out


def _changes(epochs: Epochs, corner: tuple[int, int]) -> bool:
    """A cheap look whether the tile ever changes: distances of epochs six minutes apart."""
    row, column = corner
    tile = epochs.picture[:, row : row + epochs.side, column : column + epochs.side]
    vectors = tile.reshape(len(tile), -1)
    step = (tile.shape[0] > 4 and 3) or 1
    ahead, behind = vectors[step:], vectors[:-step]
    total = (ahead**2).sum(1) + (behind**2).sum(1)
    apart = ((ahead - behind) ** 2).sum(1) / (total + 6.0 * epochs.noise)
    return bool(np.any(apart[epochs.seen[step:] & epochs.seen[:-step]] > _MIN_EDGE))


def _tile_boxes(epochs: Epochs, corner: tuple[int, int], limits: Limits) -> list[Box]:
    blocks = Blocks(unlikeness(epochs, corner))
    marks = _edge_places(blocks.edges(_EDGE_SPAN))
    marks = sorted({0, *marks, blocks.size})
    low, high = limits.shortest_s / epochs.step_s, limits.longest_s / epochs.step_s
    centre = tuple(2.0 * (corner[i] + epochs.side / 2) for i in (0, 1))
    found = [
        box
        for i, a in enumerate(marks)
        for b in marks[i + 1 :]
        if low <= b - a <= high and b - a < blocks.size
        for box in [_measure(blocks, a, b, round(_SIDE_S / epochs.step_s), (centre[0], centre[1]))]
        if box.score >= limits.score
    ]
    return _best_apart(found)


def _edge_places(edges: NDArray[np.float64]) -> list[int]:
    inner = edges[1:-1]
    peak = (inner >= edges[:-2]) & (inner > edges[2:]) & (inner > _MIN_EDGE)
    places = 1 + np.flatnonzero(peak)
    strongest = places[np.argsort(edges[places])[::-1][:_MAX_EDGES]]
    return [int(i) for i in strongest]


def _measure(blocks: Blocks, a: int, b: int, side: int, centre: tuple[float, float]) -> Box:
    before = (max(0, a - _GUARD - side), max(0, a - _GUARD))
    after = (min(blocks.size, b + _GUARD), min(blocks.size, b + _GUARD + side))
    inside = (min(a + _GUARD, b - 1), max(b - _GUARD, a + 1))
    gain_before = _gain(blocks, inside, before)
    gain_after = _gain(blocks, inside, after)
    ground = _gain(blocks, before, after)
    sides = [g for g in (gain_before, gain_after) if np.isfinite(g)]
    penalty = _GROUND_WEIGHT * max(0.0, ground) if np.isfinite(ground) else 0.0
    score = min(sides) - penalty if sides else -1.0
    return Box(centre[0], centre[1], a, b, gain_before, gain_after, ground, float(score))


def _gain(blocks: Blocks, one: tuple[int, int], other: tuple[int, int]) -> float:
    """How much `one` differs from `other` beyond how much `other` (the ground) differs from itself."""
    if other[1] - other[0] < 2 or one[1] <= one[0]:
        return float("nan")
    return blocks.mean(*one, *other) - blocks.mean(*other, *other)


def _best_apart(found: list[Box]) -> list[Box]:
    """Boxes of one tile that do not overlap, best first; the ground beside a box is no box itself."""
    kept: list[Box] = []
    for box in sorted(found, key=lambda box: (_one_sided(box), -box.score)):
        # Seen from the edge of the night, bare ground differs from the animal that comes later just as the
        # animal differs from the ground: only a box with both sides tells which is which.
        reach = 2 if _one_sided(box) else 0
        if all(box.last + reach <= other.first or box.first - reach >= other.last for other in kept):
            kept.append(box)
    return kept


def _one_sided(box: Box) -> bool:
    return not (math.isfinite(box.before) and math.isfinite(box.after))
