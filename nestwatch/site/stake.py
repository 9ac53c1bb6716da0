"""How a keeper finds a place of the plan with a tape: arcs from two posts, or along a wall and out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np
import shapely

from nestwatch.site.records import Pen, Point, Post

_TAPE_M, _SAG = 0.01, 0.003  # a tape is off by 1 cm and by 3 mm a metre (common practice, no source)
_NEAREST_M = 0.10  # nearer than that a post is in the way of the arcs
_AT_CORNER_M = 0.10  # a post this near a corner of the pen names it


@dataclass(frozen=True, slots=True)
class Arcs:
    """Tape distances from two posts. `side`: standing at `first` and looking to `second`, the arcs cross on
    this side; "between" where the place lies on their line. `crossing_deg`: angle at which the arcs cross, 90
    is best. `off_m`: standard deviation of the place from the tape alone, metres; infinite on the line.
    """

    first: str
    second: str
    first_m: float
    second_m: float
    side: Literal["left", "right", "between"]
    crossing_deg: float
    off_m: float


@dataclass(frozen=True, slots=True)
class FromWall:
    """`along_m` from a corner along the nearest wall towards its other end, then `out_m` at a right angle
    into the pen (negative: outside it). `start`, `end`: the wall's ends, metres, the nearer one first;
    `start_post`, `end_post`: posts standing there, None where there is none.
    """

    start: Point
    end: Point
    start_post: str | None
    end_post: str | None
    along_m: float
    out_m: float


def best_arcs(posts: Sequence[Post], place: Point) -> Arcs | None:
    """The two posts from which the place is found best.

    Two distances of standard deviation s1, s2 whose arcs cross at an angle c leave the place uncertain by
    sqrt(s1² + s2²) / sin c (by hand from the two straightened arcs). None with fewer than two usable posts.
    """
    usable = [post for post in posts if _distance(post.at, place) >= _NEAREST_M]
    pairs = [_arcs(first, second, place) for first, second in combinations(usable, 2)]
    return min(pairs, key=lambda arcs: (arcs.off_m, arcs.first_m + arcs.second_m)) if pairs else None


def _arcs(first: Post, second: Post, place: Point) -> Arcs:
    one, two = _distance(first.at, place), _distance(second.at, place)
    (ax, ay), (bx, by), (x, y) = first.at, second.at, place
    sine = ((ax - x) * (by - y) - (ay - y) * (bx - x)) / (one * two)
    cosine = ((ax - x) * (bx - x) + (ay - y) * (by - y)) / (one * two)
    angle = float(np.degrees(np.arctan2(abs(sine), cosine)))
    off = float(np.hypot(np.hypot(_TAPE_M, _SAG * one), np.hypot(_TAPE_M, _SAG * two)))
    side: Literal["left", "right", "between"] = "between"
    if abs(sine) > 1e-6:
        side = "left" if sine > 0 else "right"
    crossing = min(angle, 180 - angle)
    return Arcs(first.name, second.name, one, two, side, crossing, off / max(abs(sine), 1e-12))


def from_wall(pen: Pen, place: Point) -> FromWall:
    """Distance along the nearest wall of the pen's outline and out from it."""
    ends = list(zip(pen.outline, (*pen.outline[1:], pen.outline[0]), strict=True))
    walls = [shapely.LineString(pair) for pair in ends]
    point = shapely.Point(place)
    nearest = int(np.argmin([shapely.distance(wall, point) for wall in walls]))
    wall, (start, end) = walls[nearest], ends[nearest]
    along = float(shapely.line_locate_point(wall, point))
    if along > wall.length / 2:
        start, end, along = end, start, float(wall.length) - along
    out = float(shapely.distance(wall, point))
    inside = bool(shapely.intersects_xy(shapely.Polygon(pen.outline), *place))
    return FromWall(start, end, _post_at(pen, start), _post_at(pen, end), along, out if inside else -out)


def _post_at(pen: Pen, corner: Point) -> str | None:
    near = min(pen.posts, key=lambda post: _distance(post.at, corner), default=None)
    return near.name if near and _distance(near.at, corner) <= _AT_CORNER_M else None


def _distance(one: Point, other: Point) -> float:
    return float(np.hypot(one[0] - other[0], one[1] - other[1]))
