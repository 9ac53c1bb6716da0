"""The plan of one pen with every nest of the season, and where nests of earlier years were.

Years differ by the shape of the mark and by whether it is filled. A nest's number is that of the table
beside the map; night and female stand there too where there is room for all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from markupsafe import Markup
from matplotlib.axes import Axes
from matplotlib.patches import Circle, Polygon

from nestwatch.report.marking.pen_drawing import Scale, draw_bar
from nestwatch.report.marking.setting import Box, paper, put
from nestwatch.season.tally.page.days import short_day
from nestwatch.season.tally.page.drawing import (
    FADED,
    INK,
    SHEET,
    SMALL,
    TEXT,
    WIDTH_MM,
    cut,
    line,
    width_of,
    write,
)
from nestwatch.season.tally.page.inline import inline_svg
from nestwatch.season.tally.page.placing import Mark, nearest_point, placed_labels
from nestwatch.season.tally.records import MapNest
from nestwatch.site.records import Pen, Point, Units

_EDGE_MM = 8.0
_TALLEST_MM = 130.0
_BAR_MM = 6.0
_KEY_MM = 5.0
_MARK_MM = 1.7
_LABEL_MM = 3.0
_LONGEST_LABEL_MM = 30.0
_MOST_IN_FULL = 60
_CLEAR_MM = 1.6
_WIDEST_MM = 4.0
_NEAR = 0.5  # nests further off than this many pens are not drawn: the plan would become a dot
_EARLIER = (("s", 1), ("^", 2), ("D", 3))
"""Marks by years ago; the last one for all that are older."""


@dataclass(frozen=True, slots=True)
class PenMap:
    """A drawn map. `unlabelled`: numbers of nests that have no label on it, too many being too near to each
    other; `outside`: those that lie too far from the pen to be drawn."""

    svg: Markup
    unlabelled: tuple[int, ...]
    outside: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Plan:
    """What is drawn, and how metres lie on the paper."""

    pen: Pen
    scale: Scale
    room: Box
    nests: dict[int, MapNest]
    earlier: Sequence[MapNest]
    units: Units


def pen_map(
    pen: Pen, nests: dict[int, MapNest], earlier: Sequence[MapNest], year: int, units: Units, name: str
) -> PenMap:
    """The map of one pen. `nests`: this year's of the pen by their numbers. `name`: of the drawing."""
    near = {number: nest for number, nest in nests.items() if _is_near(pen, nest.plan_m)}
    before = [nest for nest in earlier if _is_near(pen, nest.plan_m)]
    plan = _plan(pen, near, before, units)
    figure, axes = paper(WIDTH_MM, plan.room.bottom + _BAR_MM)
    _key(axes, near, before, year)
    _pen(axes, plan)
    taken = [*_marks(axes, plan, year), *_wall(plan)]
    taken += _posts(axes, plan, taken)
    labelled = _labels(axes, plan, taken)
    draw_bar(axes, plan.scale, Box(0, plan.room.bottom, WIDTH_MM, _BAR_MM), units, told=False)
    unlabelled = tuple(number for number in near if number not in labelled)
    return PenMap(inline_svg(figure, name), unlabelled, tuple(n for n in nests if n not in near))


def _is_near(pen: Pen, place: Point) -> bool:
    low, high = np.min(pen.outline, axis=0), np.max(pen.outline, axis=0)
    far = _NEAR * float((high - low).max())
    return bool(((np.array(place) >= low - far) & (np.array(place) <= high + far)).all())


def _plan(pen: Pen, nests: dict[int, MapNest], earlier: Sequence[MapNest], units: Units) -> _Plan:
    """The largest scale at which all of it fits; y of the plan points up, as on the marking sheet."""
    places = [nest.plan_m for nest in (*nests.values(), *earlier)]
    points = np.array([*pen.outline, *(post.at for post in pen.posts), *places], np.float64)
    (left, low), (right, high) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    wanted = max((right - left) / (WIDTH_MM - 2 * _EDGE_MM), (high - low) / (_TALLEST_MM - 2 * _EDGE_MM))
    per_m = 1000 / math.ceil(1000 * wanted)
    top = 2 * _KEY_MM if earlier else _KEY_MM
    height = (high - low) * per_m + 2 * _EDGE_MM
    x = (WIDTH_MM - (right - left) * per_m) / 2 - left * per_m
    scale = Scale(math.ceil(1000 * wanted), x, top + _EDGE_MM + high * per_m, low)
    return _Plan(pen, scale, Box(0.5, top, WIDTH_MM - 1, height), nests, earlier, units)


def _pen(axes: Axes, plan: _Plan) -> None:
    corners = [plan.scale.mm(corner) for corner in plan.pen.outline]
    axes.add_artist(
        Polygon(corners, closed=True, facecolor="none", edgecolor=INK, linewidth=1.3, zorder=2, clip_on=False)
    )


def _wall(plan: _Plan) -> list[Box]:
    """What the outline takes of the paper, in short steps: a label across it would hide it."""
    corners = [plan.scale.mm(corner) for corner in (*plan.pen.outline, plan.pen.outline[0])]
    return [
        Box(x - 0.2, y - 0.2, 0.4, 0.4)
        for start, end in pairwise(corners)
        for x, y in np.linspace(start, end, max(2, math.ceil(math.dist(start, end)))).tolist()
    ]


def _shape(years_ago: int) -> str:
    return next((shape for shape, ago in _EARLIER if years_ago <= ago), _EARLIER[-1][0])


def _draw_earlier(axes: Axes, x: float, y: float, years_ago: int) -> None:
    shape = _shape(years_ago)
    axes.plot(
        [x], [y], ls="none", marker=shape, ms=4.6, mfc=SHEET, mec=FADED, mew=0.9, zorder=4, clip_on=False
    )


def _draw_nest(axes: Axes, x: float, y: float) -> None:
    axes.plot([x], [y], ls="none", marker="o", ms=4.6, mfc=INK, mec=SHEET, mew=0.5, zorder=6, clip_on=False)


def _marks(axes: Axes, plan: _Plan, year: int) -> list[Box]:
    """Every nest, and what each takes of the paper."""
    taken = []
    for nest in plan.earlier:
        x, y = plan.scale.mm(nest.plan_m)
        _draw_earlier(axes, x, y, year - nest.year)
        taken.append(_box(x, y))
    for nest in plan.nests.values():
        x, y = plan.scale.mm(nest.plan_m)
        if nest.within_m is not None:
            reach = plan.scale.length(nest.within_m)
            axes.add_artist(
                Circle((x, y), reach, facecolor="none", edgecolor=INK, lw=0.6, zorder=5, clip_on=False)
            )
        _draw_nest(axes, x, y)
        taken.append(_box(x, y))
    return taken


def _box(x: float, y: float) -> Box:
    return Box(x - _MARK_MM / 2, y - _MARK_MM / 2, _MARK_MM, _MARK_MM)


def _posts(axes: Axes, plan: _Plan, taken: Sequence[Box]) -> list[Box]:
    """Posts with their names, and what they take of the paper."""
    places = [plan.scale.mm(post.at) for post in plan.pen.posts]
    names = [cut(post.name, _LONGEST_LABEL_MM, size=SMALL) for post in plan.pen.posts]
    for x, y in places:
        axes.plot([x], [y], ls="none", marker="s", ms=3.4, color=FADED, zorder=3, clip_on=False)
    marks = [_box(*place) for place in places]
    wanted = [
        Mark(place, width_of(name, size=SMALL), _LABEL_MM) for place, name in zip(places, names, strict=True)
    ]
    x, y = np.mean(plan.pen.outline, axis=0).tolist()
    boxes = placed_labels(wanted, plan.room, [*taken, *marks], away=plan.scale.mm((x, y)))
    for name, box in zip(names, boxes, strict=True):
        if box is not None:
            write(axes, box.left, box.bottom - 0.7, name, colour=FADED)
    return [*marks, *(box for box in boxes if box is not None)]


def _labels(axes: Axes, plan: _Plan, taken: Sequence[Box]) -> set[int]:
    """Numbers for as many nests as have room, and night and female with it where that has room too.

    Returns the numbers of the nests that have a label.
    """
    boxes = placed_labels([_mark(plan, n, str(n)) for n in plan.nests], plan.room, taken)
    labels = {n: (str(n), box) for n, box in zip(plan.nests, boxes, strict=True) if box is not None}
    for number in labels if len(labels) <= _MOST_IN_FULL else ():
        text = _long(number, plan.nests[number])
        others = [box for other, (_, box) in labels.items() if other != number]
        full = [*taken, *others, *_rings(plan, number)]
        (box,) = placed_labels([_mark(plan, number, text)], plan.room, full, tries=2)
        if box is not None:
            labels[number] = text, box
    for number, (text, box) in labels.items():
        _label(axes, plan.scale.mm(plan.nests[number].plan_m), text, box)
    return set(labels)


def _rings(plan: _Plan, but: int) -> list[Box]:
    """What the rings of all other nests take: a long label across one would seem to belong to it."""
    reach = {n: plan.scale.length(nest.within_m or 0.0) for n, nest in plan.nests.items() if n != but}
    places = {n: plan.scale.mm(plan.nests[n].plan_m) for n in reach}
    return [Box(x - reach[n], y - reach[n], 2 * reach[n], 2 * reach[n]) for n, (x, y) in places.items()]


def _mark(plan: _Plan, number: int, text: str) -> Mark:
    """A nest and its label, which stays off its ring unless that is wide."""
    nest = plan.nests[number]
    ring = plan.scale.length(nest.within_m or 0.0)
    width = width_of(text, size=SMALL, bold=True) + 0.6
    return Mark(plan.scale.mm(nest.plan_m), width, _LABEL_MM, max(_CLEAR_MM, min(ring, _WIDEST_MM) + 0.7))


def _long(number: int, nest: MapNest) -> str:
    who = f" {nest.female}" if nest.female else ""
    return cut(f"{number}: {short_day(nest.night)}{who}", _LONGEST_LABEL_MM, size=SMALL, bold=True)


def _label(axes: Axes, place: Point, text: str, box: Box) -> None:
    """A label, with a line to its mark where it stands off."""
    end = nearest_point(box, place)
    if math.dist(end, place) > _WIDEST_MM:
        line(axes, place, end, color=FADED, lw=0.5, zorder=5)
    write(axes, box.left, box.bottom - 0.6, text, size=SMALL, bold=True, colour=INK)


def _key(axes: Axes, nests: dict[int, MapNest], earlier: Sequence[MapNest], year: int) -> None:
    """What the marks mean, with how many there are of each."""
    _draw_nest(axes, 2, 2.4)
    words = f"{year} ({len(nests)}); ring: holds the eggs 9 times in 10"
    put(axes, 4.5, 3.5, words, size=TEXT, colour=INK)
    left = 1.0
    for ago in sorted({min(year - nest.year, _EARLIER[-1][1]) for nest in earlier}):
        years = [nest.year for nest in earlier if min(year - nest.year, _EARLIER[-1][1]) == ago]
        word = f"{years[0]} ({len(years)})" if len(set(years)) == 1 else f"before {year - 2} ({len(years)})"
        _draw_earlier(axes, left + 1, _KEY_MM + 2.4, ago)
        put(axes, left + 3.5, _KEY_MM + 3.5, word, size=TEXT, colour=INK)
        left += 8 + width_of(word, size=TEXT)
