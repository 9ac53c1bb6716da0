"""The ground around the place, larger than the plan: how the tapes come in, and the ring to dig."""

from __future__ import annotations

import math

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from nestwatch.report.marking.pen_drawing import (
    INK,
    QUIET,
    Scale,
    draw_bar,
    draw_place,
    draw_tapes,
)
from nestwatch.report.marking.records import Where
from nestwatch.report.marking.setting import Box, put
from nestwatch.site.records import Point, Units

LEAST_MM = 22.0
_RATIOS = (5, 8, 10, 16, 20, 32, 50)
_RING_SHARE = 0.3  # of the box's height
_EDGE = 7.0


def draw_close_up(axes: Axes, where: Where, box: Box, units: Units) -> None:
    """Draw the surroundings of the place into a box; what lies beyond it is cut off."""
    ring_mm = 1000 * (where.within_m or 0.05)
    ratio = next((each for each in _RATIOS if ring_mm / each <= _RING_SHARE * box.height), _RATIOS[-1])
    x, y = box.left + box.width / 2, box.top + box.height / 2
    scale = Scale(ratio, x - where.place[0] * 1000 / ratio, y + where.place[1] * 1000 / ratio)
    frame = Rectangle(
        (box.left, box.top), box.width, box.height, facecolor="#faf7ef", edgecolor=QUIET, lw=0.6
    )
    axes.add_patch(frame)
    before = len(axes.lines), len(axes.patches)
    wall = [scale.mm(corner) for corner in (*where.pen.outline, where.pen.outline[0])]
    axes.plot(*zip(*wall, strict=True), color=INK, lw=2.0, zorder=3)
    draw_tapes(axes, where, scale)
    draw_place(axes, where, scale)
    for drawn in (*axes.lines[before[0] :], *axes.patches[before[1] :]):
        drawn.set_clip_path(frame)
    _towards(axes, where, scale, box)
    draw_bar(axes, scale, box, units, told=True)


def _towards(axes: Axes, where: Where, scale: Scale, box: Box) -> None:
    """The names of both posts where their tapes come in."""
    at = {post.name: post.at for post in where.pen.posts}
    for name in (where.arcs.first, where.arcs.second) if where.arcs else ():
        x, y = _entry(scale.mm(where.place), scale.mm(at[name]), box)
        put(axes, x, y + 1, name, size=8.5, bold=True, align="center", halo=True)


def _entry(place: Point, post: Point, box: Box) -> Point:
    """Where on the way from the place to the post a name stands that has to stay in the box."""
    dx, dy = post[0] - place[0], post[1] - place[1]
    reach = [math.hypot(dx, dy)]
    far = reach[0]
    if dx:
        reach.append((box.width / 2 - 2 * _EDGE) * far / abs(dx))
    if dy:
        reach.append((box.height / 2 - 0.5 * _EDGE) * far / abs(dy))
    share = min(reach) / far
    return place[0] + dx * share, place[1] + dy * share
