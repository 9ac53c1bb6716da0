"""The pen's plan to scale, in millimetres of paper: outline, posts, zones, tapes, the place, its radius."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle, Polygon
from numpy.typing import NDArray

from nestwatch.report.marking.records import Where
from nestwatch.report.marking.setting import Box, put, text_width
from nestwatch.site.records import Point, Post, Units

Floats = NDArray[np.float64]

INK, QUIET, SPOT, ZONE = "#111111", "#595959", "#a63a00", "#efe6d2"
_SCALES: dict[Units, tuple[int, ...]] = {
    "metric": (5, 10, 20, 25, 30, 40, 50, 60, 75, 100, 150, 200, 250, 500, 1000, 2000, 5000),
    # a foot of the pen is 3, 1 1/2, 1, 3/4, 1/2, 3/8, 1/4, 1/5, 1/6, 1/8 in of paper, and so on
    "imperial": (4, 8, 12, 16, 24, 32, 48, 60, 72, 96, 120, 192, 384, 768, 1536, 3072, 6144),
}
_BARS: dict[Units, tuple[tuple[float, str], ...]] = {
    "metric": ((0.2, "20 cm"), (0.5, "50 cm"), (1.0, "1 m"), (2.0, "2 m"), (5.0, "5 m"), (10.0, "10 m")),
    "imperial": ((0.3048, "1 ft"), (0.6096, "2 ft"), (1.524, "5 ft"), (3.048, "10 ft"), (6.096, "20 ft")),
}
_LABELS_MM = 8.0  # kept free at the edges for the names of posts
_BAR_MM = 6.0
_LONGEST_BAR_MM = 30.0
_ARC_MM = 12.0  # to either side of the place


@dataclass(frozen=True, slots=True)
class Scale:
    """Plan metres to millimetres of paper, y of the paper downwards. `ratio`: 1 to this. `left`, `bottom`:
    where the plan's origin lies; `low_m`: the lowest y that is drawn."""

    ratio: int
    left: float
    bottom: float
    low_m: float = 0.0

    def mm(self, place: Point) -> Point:
        """Where a place of the plan lies on the paper."""
        return self.left + place[0] * 1000 / self.ratio, self.bottom - place[1] * 1000 / self.ratio

    def length(self, metres: float) -> float:
        """Millimetres of paper."""
        return metres * 1000 / self.ratio


def scale_for(where: Where, box: Box, units: Units) -> Scale:
    """The largest usual scale at which pen, posts and place fit into the box, at its top and in its
    middle."""
    (left, low), (right, high) = _extent(where)
    room = box.width - 2 * _LABELS_MM, box.height - 2 * _LABELS_MM - _BAR_MM
    wanted = max((right - left) * 1000 / room[0], (high - low) * 1000 / room[1])
    ratio = next((each for each in _SCALES[units] if each >= wanted), math.ceil(wanted))
    per_m = 1000 / ratio
    x = box.left + (box.width - (right - left) * per_m) / 2 - left * per_m
    return Scale(ratio, x, box.top + _LABELS_MM + high * per_m, low)


def _extent(where: Where) -> tuple[Point, Point]:
    points = np.array([*where.pen.outline, *(post.at for post in where.pen.posts), where.place], np.float64)
    (left, low), (right, high) = points.min(axis=0), points.max(axis=0)
    return (float(left), float(low)), (float(right), float(high))


def draw_pen(axes: Axes, where: Where, box: Box, units: Units, *, told: bool = True) -> float:
    """Draw the plan into a box of the paper; returns the y below it. `told`: with the ratio in figures, which
    is true on paper only."""
    scale = scale_for(where, box, units)
    axes.add_patch(_area(scale, where.pen.outline, facecolor="none", edgecolor=INK, linewidth=1.4, zorder=3))
    for outline in where.outlines:
        if len(outline) > 2:
            patch = _area(scale, outline, facecolor=ZONE, edgecolor="#b9a878", linewidth=0.5, zorder=1)
            axes.add_patch(patch)
            patch.set_clip_path(_area(scale, where.pen.outline, transform=axes.transData))
    _posts(axes, where, scale, box)
    draw_tapes(axes, where, scale)
    _corners(axes, where, scale)
    _camera(axes, where, scale, box)
    draw_place(axes, where, scale)
    bottom = scale.mm((0.0, scale.low_m))[1] + _LABELS_MM + _BAR_MM
    draw_bar(axes, scale, Box(box.left, bottom - _BAR_MM, box.width, _BAR_MM), units, told=told)
    return bottom


def _area(scale: Scale, outline: tuple[Point, ...], **look: object) -> Polygon:
    return Polygon([scale.mm(corner) for corner in outline], closed=True, **look)


def _posts(axes: Axes, where: Where, scale: Scale, box: Box) -> None:
    middle = np.mean(where.pen.outline, axis=0)
    best = {where.arcs.first, where.arcs.second} if where.arcs else set()
    for post in where.pen.posts:
        chosen = post.name in best
        look = ("s", 6, INK) if chosen else ("o", 3, QUIET)
        x, y = scale.mm(post.at)
        axes.plot([x], [y], marker=look[0], ms=look[1], color=look[2], zorder=5)
        # A name stands on the side away from what is drawn: from the tape, or from the pen.
        _label(axes, post, scale, box, away=where.place if chosen else middle, chosen=chosen)


def _label(axes: Axes, post: Post, scale: Scale, box: Box, *, away: Point | Floats, chosen: bool) -> None:
    """A post's name, on the side that lies away from a place of the plan, kept inside the box."""
    x, y = scale.mm(post.at)
    size = 8.5 if chosen else 6
    width = text_width(post.name, size=size, bold=chosen)
    left = x + 1.5 if post.at[0] >= away[0] else x - 1.5 - width
    left = max(min(left, box.right - width), box.left)
    low = y - 1.6 if post.at[1] >= away[1] else y + 3.6
    colour = INK if chosen else QUIET
    put(axes, left, low, post.name, size=size, bold=chosen, colour=colour, halo=True)


def draw_tapes(axes: Axes, where: Where, scale: Scale) -> None:
    """Both tapes as lines, and the arcs on which their ends lie."""
    if where.arcs is None:
        return
    at = {post.name: post.at for post in where.pen.posts}
    for name, far in ((where.arcs.first, where.arcs.first_m), (where.arcs.second, where.arcs.second_m)):
        (px, py), (x, y) = scale.mm(at[name]), scale.mm(where.place)
        axes.plot([px, x], [py, y], color=INK, lw=1.0, ls=(0, (6, 2)), zorder=4)
        reach = scale.length(far)
        turn = math.atan2(y - py, x - px) + np.linspace(-1, 1, 25) * min(_ARC_MM / reach, 0.35)
        axes.plot(px + reach * np.cos(turn), py + reach * np.sin(turn), color=INK, lw=0.8, zorder=4)


def _corners(axes: Axes, where: Where, scale: Scale) -> None:
    """Letters at ends of the nearest wall that have no post."""
    wall = where.wall
    for letter, corner, post in (("A", wall.start, wall.start_post), ("B", wall.end, wall.end_post)):
        if post is None:
            x, y = scale.mm(corner)
            put(axes, x, y - 1.5, letter, size=9, bold=True, colour=INK, align="center", halo=True)


def _camera(axes: Axes, where: Where, scale: Scale, box: Box) -> None:
    """Where the camera stands, at the box's edge where that lies outside of it."""
    if where.camera is None:
        return
    x, y = scale.mm(where.camera)
    x = min(max(x, box.left + 3), box.left + box.width - 3)
    y = min(max(y, box.top + 3), box.top + box.height - 3)
    axes.plot([x], [y], marker="D", ms=5, markerfacecolor="white", markeredgecolor=INK, zorder=6)
    if x < box.left + box.width / 2:
        put(axes, x + 2.2, y + 3, "camera", size=7, halo=True)
    else:
        put(axes, x - 2.2, y + 3, "camera", size=7, halo=True, align="right")


def draw_place(axes: Axes, where: Where, scale: Scale) -> None:
    """The place and the radius that holds it nine times in ten."""
    x, y = scale.mm(where.place)
    if where.within_m is not None:
        ring = max(scale.length(where.within_m), 0.8)
        axes.add_patch(
            Circle((x, y), ring, facecolor="#f4c7ad", edgecolor=SPOT, lw=1.4, alpha=0.85, zorder=10)
        )
    axes.plot([x], [y], marker="x", ms=6, mew=1.8, color=SPOT, zorder=11)


def draw_bar(axes: Axes, scale: Scale, box: Box, units: Units, *, told: bool) -> None:
    """A length of the pen, with the ratio in figures where it is `told`."""
    fitting = [each for each in _BARS[units] if scale.length(each[0]) <= _LONGEST_BAR_MM] or [_BARS[units][0]]
    metres, label = fitting[-1]
    x, y = box.left + 2, box.bottom - 1.5
    axes.plot([x, x + scale.length(metres)], [y, y], color=INK, lw=2.0, solid_capstyle="butt")
    ratio = f"  1 : {scale.ratio}" if told else ""
    put(axes, x + scale.length(metres) + 1.5, y + 0.9, f"{label}{ratio}", size=7, colour=INK)
