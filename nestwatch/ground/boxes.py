"""Boxes in time: stretches in which a tile differs from the ground before *and* after.

We work offline, so both sides are known: no running model that would absorb an animal that stays (an
eigen-decomposition or a background average would too). From a tile's self-unlikeness matrix the means over
any block of (epochs x epochs) come from one integral image.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.blocks import ByGrain, ByLooks, Index, Spans
from nestwatch.ground.epochs import Epochs, grain_products, tile_corners, tile_vectors, unlikeness
from nestwatch.ground.records import Box

_MIN_EDGE = 0.10
_MAX_EDGES = 14
_SIDE_S = 45 * 60.0
_GUARD = 1
_GROUND_WEIGHT = 0.5
_SAME_GROUND = 0.8
"""Likeness of a tile's grain to that before and after from which on nothing lay there: the light changed. On
invented building nights tiles under an animal came to -0.3 to 0.7, under leaves over her to 0.9 at most,
those that shadows passed to 0.8 and more in nine of ten."""


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
        if _inside(epochs, corner, wanted) and _changes(epochs, corner):
            found = _tile_boxes(ByLooks(unlikeness(epochs, corner)), epochs, corner, limits)
            if found:
                grain = ByGrain(grain_products(epochs, corner))
                for box in _best_apart(found):
                    lit = _same_ground(box, grain, epochs)
                    out.append(replace(box, part=_part(box, found, grain, epochs), lit=lit))
    return out


def _inside(epochs: Epochs, corner: tuple[int, int], wanted: NDArray[np.bool_]) -> bool:
    return bool(wanted[corner[0] + epochs.side // 2, corner[1] + epochs.side // 2])


def _same_ground(box: Box, grain: ByGrain, epochs: Epochs) -> bool:
    """True where the ground's grain shows during a box as it does on every side of it that was seen."""
    inside, before, after = _spans(np.array([box.first]), np.array([box.last]), grain.size, epochs)
    known = np.fmin(grain.likeness(inside, before), grain.likeness(inside, after))
    return bool(known[0] >= _SAME_GROUND)


def _changes(epochs: Epochs, corner: tuple[int, int]) -> bool:
    """A cheap look whether the tile ever changes: distances of epochs six minutes apart."""
    vectors = tile_vectors(epochs.picture, epochs, corner)
    step = (len(vectors) > 4 and 3) or 1
    ahead, behind = vectors[step:], vectors[:-step]
    total = (ahead**2).sum(1) + (behind**2).sum(1)
    apart = ((ahead - behind) ** 2).sum(1) / (total + 6.0 * epochs.noise)
    return bool(np.any(apart[epochs.seen[step:] & epochs.seen[:-step]] > _MIN_EDGE))


def _tile_boxes(tile: ByLooks, epochs: Epochs, corner: tuple[int, int], limits: Limits) -> list[Box]:
    marks = np.array(sorted({0, *_edge_places(tile.edges()), tile.size}))
    low, high = limits.shortest_s / epochs.step_s, limits.longest_s / epochs.step_s
    i, j = np.triu_indices(len(marks), 1)
    a, b = marks[i], marks[j]
    fits = (b - a >= low) & (b - a <= high) & (b - a < tile.size)
    found = _measured(tile, a[fits], b[fits], epochs, corner)
    return [box for box in found if box.score >= limits.score]


def _edge_places(edges: NDArray[np.float64]) -> list[int]:
    inner = edges[1:-1]
    peak = (inner >= edges[:-2]) & (inner > edges[2:]) & (inner > _MIN_EDGE)
    places = 1 + np.flatnonzero(peak)
    strongest = places[np.argsort(edges[places])[::-1][:_MAX_EDGES]]
    return [int(i) for i in strongest]


def _spans(a: Index, b: Index, size: int, epochs: Epochs) -> tuple[Spans, Spans, Spans]:
    """Epochs well inside boxes [a, b), and of the ground before and after them."""
    side = round(_SIDE_S / epochs.step_s)
    inside = np.minimum(a + _GUARD, b - 1), np.maximum(b - _GUARD, a + 1)
    before = np.maximum(0, a - _GUARD - side), np.maximum(0, a - _GUARD)
    after = np.minimum(size, b + _GUARD), np.minimum(size, b + _GUARD + side)
    return inside, before, after


def _measured(tile: ByLooks, a: Index, b: Index, epochs: Epochs, corner: tuple[int, int]) -> list[Box]:
    """A box for each pair of its first epoch `a` and the one after its last `b`."""
    inside, before, after = _spans(a, b, tile.size, epochs)
    gains = tile.gain(inside, before), tile.gain(inside, after), tile.gain(before, after)
    ground = np.maximum(0.0, np.nan_to_num(gains[2]))
    score = np.nan_to_num(np.fmin(gains[0], gains[1]) - _GROUND_WEIGHT * ground, nan=-1.0)
    row, column = (2.0 * (edge + epochs.side / 2) for edge in corner)
    return [
        Box(row, column, int(first), int(last), float(in_before), float(in_after), float(apart), float(best))
        for first, last, in_before, in_after, apart, best in zip(a, b, *gains, score, strict=True)
    ]


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


def _part(box: Box, found: list[Box], grain: ByGrain, epochs: Epochs) -> Box | None:
    """The best of the boxes inside `box` that have both sides and share just one edge with it."""
    inside = [b for b in found if b is not box and box.first <= b.first and b.last <= box.last]
    parts = [b for b in inside if (b.first == box.first) != (b.last == box.last) and not _one_sided(b)]
    best_first = sorted(parts, key=lambda b: -b.score)
    return next((b for b in best_first if not _same_ground(b, grain, epochs)), None)


def _one_sided(box: Box) -> bool:
    return not (math.isfinite(box.before) and math.isfinite(box.after))
