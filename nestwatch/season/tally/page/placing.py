"""Where labels of places stand so that none covers another, or a mark. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nestwatch.report.marking.setting import Box
from nestwatch.site.records import Point

_ANGLES = tuple(math.radians(turn) for turn in (0, 180, 45, 135, 315, 225, 90, 270))
_REACHES = (0.0, 1.4, 3.4, 6.4, 9.4)  # mm further than as near as can be


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark at a place of the paper and the size of its label, millimetres. `clear`: the label stays so far
    off its middle."""

    place: Point
    width: float
    height: float
    clear: float = 1.6


def placed_labels(
    marks: Sequence[Mark], room: Box, taken: Sequence[Box], *, away: Point | None = None, tries: int = 5
) -> list[Box | None]:
    """A box for each mark's label, within `room`, apart from each other and from what is `taken`.

    Millimetres of paper. Marks are served in the order given, each by the nearest free place; None where
    there is none near by. `away`: labels stand on the side away from this place if they can. `tries`: how
    many rings around a mark are searched, 1..5.
    """
    full = np.array([_sides(box) for box in taken], np.float64).reshape(-1, 4)
    found: list[Box | None] = []
    for mark in marks:
        turns = _ANGLES if away is None else _turned(mark.place, away)
        box = next((each for each in _around(mark, turns, tries) if _fits(each, room, full)), None)
        found.append(box)
        if box is not None:
            full = np.vstack([full, _sides(box)])
    return found


def nearest_point(box: Box, place: Point) -> Point:
    """The point of a box that is nearest to a place: where a line to its label ends."""
    return min(max(place[0], box.left), box.right), min(max(place[1], box.top), box.bottom)


def _turned(place: Point, away: Point) -> tuple[float, ...]:
    """Directions, the one away from a place first; y of the paper points down."""
    outward = math.atan2(away[1] - place[1], place[0] - away[0])
    return tuple(sorted(_ANGLES, key=lambda turn: -math.cos(turn - outward)))


def _around(mark: Mark, turns: Sequence[float], tries: int) -> Iterator[Box]:
    for reach in _REACHES[:tries]:
        for turn in turns:
            dx, dy = math.cos(turn), -math.sin(turn)
            x = mark.place[0] + dx * (mark.clear + reach + mark.width / 2)
            y = mark.place[1] + dy * (mark.clear + reach + mark.height / 2)
            yield Box(x - mark.width / 2, y - mark.height / 2, mark.width, mark.height)


def _sides(box: Box) -> tuple[float, float, float, float]:
    return box.left, box.top, box.right, box.bottom


def _fits(box: Box, room: Box, full: NDArray[np.float64]) -> bool:
    if box.left < room.left or box.right > room.right or box.top < room.top or box.bottom > room.bottom:
        return False
    left, top, right, bottom = full.T
    meets = (left < box.right) & (right > box.left) & (top < box.bottom) & (bottom > box.top)
    return not bool(meets.any())
