"""Which dig of a new scan is which dig of the record: by time and place, one to one. Pure.

A pair is possible where both lie in one pen (or before one camera), their times meet and their places are
near. A pair is taken where each is the other's best and no other possible partner of either comes close;
where one does, which is which cannot be told, and none of them is taken.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from nestwatch.season.records import Point

SLACK = timedelta(minutes=10)
"""Times of one dig may lie so far apart after new settings cut it differently."""
NEAR_M = 0.35
"""Places of one dig lie within this on the plan, or within both radii: about two shells of the animal."""
NEAR_PX = 60.0
"""The same in pixels, where there is no plan."""
SAME_PX = 15.0
"""Within this it is the same place of the picture."""
CLEARLY = 0.2
"""By so much closeness (0..1) a partner must beat any other."""


@dataclass(frozen=True, slots=True)
class Seen:
    """When and where a dig was. `pen` and `plan_m` are None without marks; `pixel` goes with `camera`."""

    start: datetime
    end: datetime
    pen: str | None
    plan_m: Point | None
    within_m: float | None
    camera: str | None
    pixel: Point | None
    within_px: float | None


@dataclass(frozen=True, slots=True)
class Matched:
    """Indices (former, latest) of what belongs together, and of those that could be several."""

    pairs: tuple[tuple[int, int], ...]
    unsure: tuple[int, ...]

    def latest_of(self, former: int) -> int | None:
        """The latest dig that a former one is; None where it is none, or cannot be told."""
        return next((new for old, new in self.pairs if old == former), None)


def match_digs(former: Sequence[Seen], latest: Sequence[Seen]) -> Matched:
    """Which of the record's digs are which of a new scan's. `unsure`: former ones that could be several."""
    close = {
        (i, j): value
        for i, old in enumerate(former)
        for j, new in enumerate(latest)
        if (value := closeness(old, new)) is not None
    }
    pairs: list[tuple[int, int]] = []
    while clear := [pair for pair in close if _is_clear(pair, close)]:
        pairs += clear
        close = {
            pair: value for pair, value in close.items() if not any(_share(pair, each) for each in clear)
        }
    return Matched(tuple(sorted(pairs)), tuple(sorted({i for i, _ in close})))


def _is_clear(pair: tuple[int, int], close: dict[tuple[int, int], float]) -> bool:
    rivals = [value for other, value in close.items() if other != pair and _share(other, pair)]
    return close[pair] >= max(rivals, default=-1.0) + CLEARLY


def _share(one: tuple[int, int], other: tuple[int, int]) -> bool:
    return one[0] == other[0] or one[1] == other[1]


def closeness(one: Seen, other: Seen) -> float | None:
    """How well two digs agree, 0..1: half by time (common over joint), half by place. None: cannot be one."""
    common = min(one.end, other.end) - max(one.start, other.start)
    apart = _apart(one, other)
    if common < -SLACK or apart is None or apart > 1:
        return None
    joint = (max(one.end, other.end) - min(one.start, other.start)).total_seconds()
    shared = max(common.total_seconds(), 0.0) / joint if joint else 1.0
    return (shared + 1 - apart) / 2


def _apart(one: Seen, other: Seen) -> float | None:
    """Distance over the farthest allowed, None where it cannot be told.

    By plan, unless the same place of the picture tells that marks were redrawn; else by picture.
    """
    plan = pixel = None
    if one.pixel is not None and other.pixel is not None and one.camera == other.camera:
        pixel = math.dist(one.pixel, other.pixel)
    if one.plan_m is not None and other.plan_m is not None and one.pen == other.pen:
        plan = math.dist(one.plan_m, other.plan_m) / max(NEAR_M, _both(one.within_m, other.within_m))
    if plan is None:
        return None if pixel is None else pixel / max(NEAR_PX, _both(one.within_px, other.within_px))
    return plan if pixel is None else min(plan, pixel / SAME_PX)


def _both(one: float | None, other: float | None) -> float:
    return (one or 0.0) + (other or 0.0)
