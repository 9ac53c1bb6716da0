"""Stays: tiles that changed together, or a spot that kept stirring, joined into one animal at one spot.

Either kind of evidence makes a stay alone: a camouflaged animal may show only by its limbs, and footage
denoised until nothing moves only by what lies there.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components

from nestwatch.ground.epochs import Epochs
from nestwatch.ground.records import Bins, Box, Grid
from nestwatch.ground.stir import Stir

_NEAR_SHELLS = 1.1
BESIDE_SHELLS = 1.6
_EDGE_S = 8 * 60.0
_SAME_SHARE = 0.75
_WIDE_SHELLS = 4.5
_OVERHANG = 0.5
_FAINT_LOOK = 0.3
REACH_SHELLS = 2.3
_FAINTER = 0.5
_MOST_ANIMALS = 3
_SLACK_S = 360.0
_PAUSE_S = 40 * 60.0
_OUTLASTS_S = 10 * 60.0
_FAR_MORE = 2.0
_SAME_EDGE_S, _LEAST_INNER = 4 * 60.0, 4
_BY_EDGES_ALONE = 1.1
"""A share of common time that nothing has."""


@dataclass(frozen=True, slots=True)
class Stay:
    """An animal at one spot. `row`, `column`: window place in skim pixels; bins [first, last).

    `looks`: best box score (0..1), NaN where only stirring told of it. `stirs`: mean log energy ratio of its
    stirring, NaN where nothing stirred. `start_seen`, `end_seen`: False at the edge of what was recorded in
    this light. `extent`: largest distance between its tiles in skim pixels. `ground`: box-wise unlikeness of
    the ground after to before, NaN if unknown. `tiles`: how many tiles changed together (0 from stirring).
    `within`: it stirred inside something larger that changed, such as a shadow. `leaves`: something that
    stirred there long before it came and after it went stirs over it.
    """

    row: float
    column: float
    first: int
    last: int
    looks: float
    stirs: float
    start_seen: bool
    end_seen: bool
    extent: float
    ground: float
    tiles: int
    within: bool = False
    leaves: bool = False


def stays_of_boxes(boxes: Sequence[Box], epochs: Epochs, bins: Bins) -> list[Stay]:
    """One stay for every group of neighbouring tiles whose boxes begin and end together."""
    if not boxes:
        return []
    groups = _groups(boxes, bins.grid, _EDGE_S / epochs.step_s)
    parts = [
        part
        for members in groups
        for each in _without_shadow([boxes[i] for i in members], bins.grid, _SAME_EDGE_S / epochs.step_s)
        for part in _parts(each, bins.grid)
    ]
    return [_stay_of(part, extent, epochs, bins) for part, extent in parts]


def _without_shadow(boxes: list[Box], grid: Grid, edge: float) -> list[list[Box]]:
    """A group of boxes, and apart from it each animal that lies within something much larger but came and
    went at times of its own: under a web, in a shadow. She may have come or gone with it, as far as her tiles
    can tell: a strand that comes while she is there and stays after her looks like one long stay."""
    if _extent(boxes) <= _WIDE_SHELLS * grid.shell_px:
        return [boxes]
    own = _inner(boxes, grid, edge)
    left = [box for box in boxes if not any(box in inner for inner in own)]
    out = _inner(_parts_of(left), grid, edge)
    for inner in own:
        parts = _inner(_parts_of(inner), grid, edge) if _ends_with(inner, boxes, edge) else []
        out += parts or [inner]
    return [*out, left] if left else out


def _parts_of(boxes: list[Box]) -> list[Box]:
    return [box.part for box in boxes if box.part is not None]


def _ends_with(inner: list[Box], whole: list[Box], edge: float) -> bool:
    """True where what is `inner` came or went as most of the `whole` did."""
    hers, its = (np.median([(b.first, b.last) for b in boxes], axis=0) for boxes in (inner, whole))
    return bool(np.abs(hers - its).min() <= edge)


def _inner(boxes: list[Box], grid: Grid, edge: float) -> list[list[Box]]:
    """Those of `boxes` that begin and end together and are no larger than an animal, group by group."""
    out = []
    for members in _groups(boxes, grid, edge, share=_BY_EDGES_ALONE) if boxes else []:
        inner = [boxes[i] for i in members]
        shell = grid.shell_at(inner[0].row)
        if len(inner) >= _LEAST_INNER and _extent(inner) <= REACH_SHELLS * shell:
            out.append(inner)
    return out


def _parts(boxes: list[Box], grid: Grid) -> list[tuple[list[Box], float]]:
    """Boxes that begin and end together, taken apart where they are several animals: parts and their extent.

    The best box and all within reach are one animal; what is left and much fainter is only the shimmer around
    it. A group that falls into many parts is no company of animals but a shadow, a web or weather: its best
    part then stands for all, with the extent of the whole.
    """
    whole, left = _extent(boxes), list(boxes)
    parts: list[list[Box]] = []
    while left:
        best = max(left, key=lambda box: box.score)
        reach = REACH_SHELLS * grid.shell_at(best.row)
        if parts and best.score < _FAINTER * max(box.score for box in boxes):
            break
        near = [b for b in left if np.hypot(b.row - best.row, b.column - best.column) <= reach]
        left = [box for box in left if box not in near]
        parts.append(near)
    return [(parts[0], whole)] if len(parts) > _MOST_ANIMALS else [(part, _extent(part)) for part in parts]


def _extent(boxes: list[Box]) -> float:
    return float(np.hypot(np.ptp([box.row for box in boxes]), np.ptp([box.column for box in boxes])))


def _groups(
    boxes: Sequence[Box], grid: Grid, edge: float, *, share: float = _SAME_SHARE
) -> list[NDArray[np.int64]]:
    """Numbers of `boxes` that belong together: those tied by neighbours to the best one left and of its time.

    All are held to the best one's edges, or a chain of tiles in between would tie an animal to the shadow
    that passed over it.
    """
    near, together = _ties(boxes, grid, edge, share)
    score = np.array([box.score for box in boxes])
    left = np.ones(len(boxes), np.bool_)
    out = []
    while left.any():
        best = int(np.argmax(np.where(left, score, -np.inf)))
        members = np.flatnonzero(left & together[best])
        labels = connected_components(csr_matrix(near[np.ix_(members, members)]), directed=False)[1]
        group = members[labels == labels[np.searchsorted(members, best)]]
        left[group] = False
        out.append(group)
    return out


def _ties(
    boxes: Sequence[Box], grid: Grid, edge: float, share: float
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """(n, n) which boxes are neighbours in place, and which are of the same time."""
    table = np.array([(b.row, b.column, b.first, b.last) for b in boxes])
    apart = np.hypot(*(table[:, None, k] - table[None, :, k] for k in (0, 1)))
    first, last = table[:, 2], table[:, 3]
    overlap = np.minimum(last[:, None], last) - np.maximum(first[:, None], first)
    union = np.maximum(last[:, None], last) - np.minimum(first[:, None], first)
    edges = (np.abs(first[:, None] - first) <= edge) & (np.abs(last[:, None] - last) <= edge)
    shells = np.array([grid.shell_at(box.row) for box in boxes])
    return apart <= _NEAR_SHELLS * (shells[:, None] + shells) / 2, edges | (overlap >= share * union)


def _stay_of(boxes: list[Box], extent: float, epochs: Epochs, bins: Bins) -> Stay:
    weight = np.array([b.score for b in boxes])
    table = np.array([(b.row, b.column, b.first, b.last) for b in boxes])
    row, column = (float(np.average(table[:, k], weights=weight)) for k in (0, 1))
    first, last = (int(_weighted_median(table[:, k], weight)) for k in (2, 3))
    best = boxes[int(np.argmax(weight))]
    at = [epochs.times[0] + epochs.step_s * k for k in (first, last)]
    low, high = (int(v) for v in np.searchsorted(bins.times, at))
    seen = first > 1, last < len(epochs.seen) - 1
    return Stay(
        row, column, low, max(high, low + 1), best.score, float("nan"), *seen, extent, best.ground, len(boxes)
    )


def _weighted_median(values: NDArray[np.float64], weight: NDArray[np.float64]) -> float:
    order = np.argsort(values)
    share = np.cumsum(weight[order]) / weight.sum()
    return float(values[order][int(np.searchsorted(share, 0.5))])


def stays_of_stirs(stirs: Sequence[Stir], bins: Bins) -> list[Stay]:
    """One stay for every stirring spot; its edges are those of the stirring."""
    nan = float("nan")
    return [
        Stay(s.row, s.column, s.first, s.last, nan, s.strength, s.first > 4, s.last < len(bins.times) - 4,
             s.area**0.5, nan, 0)
        for s in stirs
    ]  # fmt: skip


def join(stays: Sequence[Stay], bins: Bins) -> list[Stay]:
    """Stays of one kind (looks or stirring) at the same place and time made one, from first to last."""
    left = sorted(stays, key=lambda stay: -(stay.last - stay.first))
    out: list[Stay] = []
    for stay in left:
        twin = next((i for i, other in enumerate(out) if _same(stay, other, bins.grid)), None)
        if twin is None:
            out.append(stay)
        else:
            out[twin] = _joined(out[twin], stay)
    return join(out, bins) if len(out) < len(left) else out


def with_stirs(looks: Sequence[Stay], stirs: Sequence[Stay], bins: Bins) -> list[Stay]:
    """`looks` with the stirring seen on their spots; stirring elsewhere makes stays of its own.

    Where an animal was seen, its look decides the edges: stirring also comes from walking up. Only where
    stirring goes on for long outside the look (a shell hardly to be told from the soil) it widens the stay;
    what stirs from a recording's first minute to its last is a plant beside or over it.
    """
    out = list(looks)
    for stir in stirs:
        twin = next((i for i, look in enumerate(out) if _same(stir, look, bins.grid)), None)
        if twin is None:
            out.append(stir)
            continue
        look = out[twin]
        if wide(look, bins.grid.shell_at(look.row)):
            # A shadow comes and goes at its own time: the animal in it is told by its stirring.
            out[twin] = replace(stir, looks=look.looks, tiles=look.tiles, within=True)
            continue
        inside = min(look.last, stir.last) - max(look.first, stir.first)
        came_or_went = stir.start_seen or stir.end_seen
        if came_or_went and look.looks < _FAINT_LOOK and inside < _OVERHANG * (stir.last - stir.first):
            out[twin] = _joined(look, stir)
        else:
            leaves = look.leaves or _outlasts(stir, look, bins) or not came_or_went
            out[twin] = replace(look, stirs=float(np.fmax(look.stirs, stir.stirs)), leaves=leaves)
    return out


def _outlasts(stir: Stay, look: Stay, bins: Bins) -> bool:
    """True where it stirred on the spot for long before she came and after she left, more than in walking up
    and off."""
    before, after = (look.first - stir.first) * bins.step_s, (stir.last - look.last) * bins.step_s
    both = min(before, after)
    return both > _OUTLASTS_S or (both > _OUTLASTS_S / 2 and before + after > 3 * _OUTLASTS_S)


def apart(one: Stay, other: Stay, grid: Grid) -> float:
    """Distance of two stays in shell lengths as seen there."""
    shell = grid.shell_at((one.row + other.row) / 2)
    return float(np.hypot(one.row - other.row, one.column - other.column)) / shell


def _same(one: Stay, other: Stay, grid: Grid) -> bool:
    overlap = min(one.last, other.last) - max(one.first, other.first)
    shorter = min(one.last - one.first, other.last - other.first)
    return bool(apart(one, other, grid) <= _NEAR_SHELLS and overlap > 0.3 * shorter)


def mass(stay: Stay) -> float:
    """How much of the ground changed how clearly; 0 where only stirring told of the stay."""
    return 0.0 if np.isnan(stay.looks) else stay.looks * max(1, stay.tiles)


def _joined(main: Stay, more: Stay) -> Stay:
    """From the earlier start to the later end of both; where one lies within the other, the edges of the one
    that shows far more: a few tiles also change when an animal only passes by before it stays."""
    nested = (main.first <= more.first) == (main.last >= more.last)
    if nested and main.start_seen and main.end_seen and mass(more) > _FAR_MORE * mass(main) > 0:
        main, more = more, replace(main, first=more.first, last=more.last)
    early = main if main.first <= more.first else more
    late = main if main.last >= more.last else more
    return replace(
        main,
        first=early.first,
        last=late.last,
        start_seen=early.start_seen,
        end_seen=late.end_seen,
        looks=float(np.fmax(main.looks, more.looks)),
        stirs=float(np.fmax(main.stirs, more.stirs)),
        extent=max(main.extent, more.extent),
        tiles=max(main.tiles, more.tiles),
        leaves=main.leaves or more.leaves,
    )


def bridge(stays: Sequence[Stay], bins: Bins, *, gap_s: float = 45 * 60.0) -> list[Stay]:
    """Stays cut by a change of light or a gap, made one where the animal is still there after it."""
    return _chained(stays, lambda one, other: _continues(one, other, bins, gap_s), _carried_on)


def over_pauses(stirs: Sequence[Stay], bins: Bins) -> list[Stay]:
    """Stirring at one spot, made one over the quiet in which eggs are laid."""
    return _chained(stirs, lambda one, other: _resumes(one, other, bins), _joined)


def _chained(
    stays: Sequence[Stay], follows: Callable[[Stay, Stay], bool], merged: Callable[[Stay, Stay], Stay]
) -> list[Stay]:
    """`stays` in order of their beginning, each merged into the first earlier one that it follows."""
    out: list[Stay] = []
    for stay in sorted(stays, key=lambda stay: stay.first):
        twin = next((i for i, other in enumerate(out) if follows(other, stay)), None)
        if twin is None:
            out.append(stay)
        else:
            out[twin] = merged(out[twin], stay)
    return out


def _carried_on(first: Stay, stay: Stay) -> Stay:
    """`first` until the end of `stay`; its ground before and after was not seen in one light."""
    return replace(
        first,
        last=stay.last,
        end_seen=stay.end_seen,
        looks=float(np.fmax(first.looks, stay.looks)),
        stirs=float(np.fmax(first.stirs, stay.stirs)),
        ground=float("nan"),
        tiles=max(first.tiles, stay.tiles),
    )


def _continues(one: Stay, other: Stay, bins: Bins, gap_s: float) -> bool:
    pause = _pause(one, other, bins)
    # Who was seen to go, or to come, was not there in between: then only a slack edge is forgiven.
    unseen = (not one.end_seen) + (not other.start_seen)
    longest = (-np.inf, _SLACK_S, gap_s)[unseen]
    return bool(apart(one, other, bins.grid) <= _NEAR_SHELLS and -300.0 <= pause <= longest)


def _resumes(one: Stay, other: Stay, bins: Bins) -> bool:
    pause = _pause(one, other, bins)
    return bool(0 <= pause <= _PAUSE_S and apart(one, other, bins.grid) <= _NEAR_SHELLS)


def _pause(one: Stay, other: Stay, bins: Bins) -> float:
    """Seconds from the last half minute of `one` to the first of `other`."""
    return float(bins.times[min(other.first, len(bins.times) - 1)] - bins.times[one.last - 1])


def wide(stay: Stay, shell_px: float) -> bool:
    """True where what changed is too large for the animal: a shadow, a plant, fog."""
    return stay.extent > _WIDE_SHELLS * shell_px
