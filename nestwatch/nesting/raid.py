"""Raids: an animal that is no turtle at work over a nest. The eggs may be gone or exposed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from nestwatch.nesting.records import Call, Dig, Point, Visitor, VisitorKind

LEAST = timedelta(minutes=2)
REACH_M = 0.6
"""How far from the eggs the middle of a larger animal is placed while its paws are at them: half its own
length, and as much again because a high body is seen displaced away from the camera."""
REACH_SHELLS = 4.0
_PAUSE = timedelta(minutes=5)
_COVERS = 0.5
_DOUBT = 0.5
_ARRIVES = timedelta(minutes=2)
_HEALED = timedelta(minutes=10)
"""After a nest's end what begins there is no scar of it."""
_LONGEST_RAID = timedelta(hours=1)
_TOGETHER = timedelta(minutes=1)
_LEAVES = timedelta(minutes=30)
_OPENS = timedelta(minutes=5)
"""Ground that changes for good was changed by about then; an opened nest takes a raider minutes (common
practice, no source)."""
_RESTLESS = 4
"""Visits within half an hour either way above which one more at a stay's beginning says nothing: moths."""
NO_TURTLE = "larger than any turtle here: most likely another animal was digging"


@dataclass(frozen=True, slots=True)
class Nest:
    """A place that may hold eggs. `name`: what the keeper knows it by ("the nest of 22:14").

    `since`: from when on an animal there is a raid. `pen`, `plan_m`: where, None where unknown. `camera`,
    `pixel`, `reach_px`: where in the picture of the camera that saw it dug; `camera` is None for nests of
    earlier nights. `dig`: its place in the night's list, None for those.
    """

    name: str
    since: datetime
    pen: str | None
    plan_m: Point | None
    camera: str | None = None
    pixel: Point | None = None
    reach_px: float = 0.0
    dig: int | None = None


@dataclass(frozen=True, slots=True)
class Lingering:
    """A larger animal or a person at one place for a while: `pixel` of its middle, `plan_m` where known."""

    camera: str
    pen: str | None
    what: VisitorKind
    start: datetime
    end: datetime
    pixel: Point
    plan_m: Point | None


@dataclass(frozen=True, slots=True)
class Raid:
    """A larger animal or a person at a nest. `pixel`: in the picture of `camera`; `plan_m`: of the nest, or
    None.

    `nest`: the nest's name; `dig`: its place in the night's list, None for a nest of an earlier night.
    """

    camera: str
    what: VisitorKind
    start: datetime
    end: datetime
    pixel: Point
    plan_m: Point | None
    nest: str
    dig: int | None


def find_raids(lingering: Sequence[Lingering], nests: Sequence[Nest]) -> list[Raid]:
    """Raids by time, one for each nest and visit: of cameras that saw the same, the longest."""
    found = [
        raid for nest in nests for raid in _visits([each for each in lingering if _at(each, nest)], nest)
    ]
    out: list[Raid] = []
    for raid in sorted(found, key=lambda raid: raid.start - raid.end):
        if not any(_same(raid, other) for other in out):
            out.append(raid)
    return sorted(out, key=lambda raid: raid.start)


def by_visit(raids: Sequence[Raid]) -> list[Raid]:
    """`raids` by time as a keeper should be warned of them: what one camera saw at once is one visit.

    The hole that a raider leaves is often listed as a dig of its own, beside the nest. Of such the shortest
    has the times: the others wait for ground that never heals. It names all places, the best dig's first.
    """
    out: list[list[Raid]] = []
    for raid in sorted(raids, key=lambda raid: raid.end - raid.start):
        visit = next(
            (each for each in out if each[0].camera == raid.camera and _at_once(each[0], raid)), None
        )
        if visit is None:
            out.append([raid])
        else:
            visit.append(raid)
    return sorted((_one(visit) for visit in out), key=lambda raid: raid.start)


def _one(visit: Sequence[Raid]) -> Raid:
    """The first of `visit`, at all of their places."""
    best, *rest = sorted(visit, key=lambda raid: math.inf if raid.dig is None else raid.dig)
    names = dict.fromkeys(raid.nest for raid in (best, *rest))
    return replace(best, start=visit[0].start, end=visit[0].end, nest=" and ".join(names))


def larger_animal(
    dig: Dig, lingering: Sequence[Lingering], *, reach_px: float, too_long: bool = False
) -> bool:
    """True where a larger animal was at the place for most of a stay, or the outline is `too_long` for a
    turtle: then the stay is its own.

    Never for a stay of more than an hour: a raider digs for minutes, and what passes a digging turtle again
    and again is not the digger.
    """
    if dig.end - dig.start > _LONGEST_RAID:
        return False
    if too_long:
        return True
    shared = timedelta(0)
    for each in lingering:
        if each.camera == dig.camera and math.dist(each.pixel, dig.body) <= reach_px:
            shared += max(timedelta(0), min(each.end, dig.end) - max(each.start, dig.start))
    return shared >= _COVERS * (dig.end - dig.start)


def came_for(
    dig: Dig, others: Sequence[Dig], visits: Sequence[Visitor]
) -> tuple[VisitorKind, datetime] | None:
    """Who began this stay and when it had left, where a larger animal came by as it began; None else.

    At work over a nest it may move too little to be seen as large, and the hole that it leaves looks like an
    animal that stays. `others`: stays of the camera; what begins as one that may have dug ends is its scar.
    `visits`: of people and larger animals.
    """
    scar = any(abs(other.end - dig.start) <= _ARRIVES for other in others if other.call != "rest")
    near = [visit for visit in visits if abs(visit.start - dig.start) <= _LEAVES]
    if dig.call == "nest" or not dig.start_seen or scar or len(near) > _RESTLESS:
        return None
    came = [visit for visit in near if visit.start - _ARRIVES <= dig.start <= visit.end + _ARRIVES]
    if not came:
        return None
    left = max(visit.end for visit in near if visit.start >= came[0].start)
    return came[0].what, dig.end if dig.end - dig.start <= _LONGEST_RAID else left


def of_one_body(dig: Dig, others: Sequence[Dig], *, reach_px: float) -> bool:
    """True where a stay of up to an hour begins and ends with another beside it.

    They are head and rump of one animal: no two turtles come and go together. One whose end was not seen may
    be the hole that it left. `others`: stays of the camera.
    """
    if dig.call == "nest" or dig.end - dig.start > _LONGEST_RAID or not (dig.start_seen and dig.end_seen):
        return False
    return any(
        other is not dig
        and math.dist(other.body, dig.body) <= reach_px
        and abs(other.start - dig.start) <= _TOGETHER
        and (abs(other.end - dig.end) <= _TOGETHER or not other.end_seen)
        for other in others
    )


def opened(dig: Dig, others: Sequence[Dig], *, reach_px: float) -> bool:
    """True where something stays on a nest later for up to an hour, or the ground looks different there from
    some later moment on, to the end of the recording.

    Whoever opened it may be too small, brief or well hidden to be seen as large. `others`: stays of the
    camera; `reach_px`: how far apart two sights of one chamber may lie.
    """
    brief = dig.end - dig.start <= _LONGEST_RAID or not dig.end_seen
    if dig.call == "nest" or not dig.start_seen or not brief:
        return False
    return any(
        other.call == "nest"
        and dig.start - other.end >= _HEALED
        and math.dist(dig.chamber, other.chamber) <= reach_px
        for other in others
    )


def opened_until(dig: Dig) -> datetime:
    """When whoever `opened` a nest had left: as the stay ended, or minutes after its start where that is not
    known, as the hole stays."""
    known = dig.end_seen and dig.end - dig.start <= _LONGEST_RAID
    return dig.end if known else min(dig.end, dig.start + _OPENS)


def no_turtle(dig: Dig) -> Dig:
    """`dig` as the stay of a larger animal: never a nest, and hardly one the eggs of which were laid then."""
    call: Call = "unclear" if dig.call == "nest" else dig.call
    return replace(dig, call=call, likelihood=min(dig.likelihood, _DOUBT), reasons=(NO_TURTLE, *dig.reasons))


def _at(each: Lingering, nest: Nest) -> bool:
    """Whether an animal's paws may have been at a nest after it was closed."""
    if each.end - max(each.start, nest.since) <= timedelta(0):
        return False
    if nest.pixel is not None and nest.camera == each.camera:
        return math.dist(each.pixel, nest.pixel) <= nest.reach_px
    if nest.plan_m is None or each.plan_m is None or nest.pen != each.pen:
        return False
    return math.dist(each.plan_m, nest.plan_m) <= REACH_M


def _visits(lingering: Sequence[Lingering], nest: Nest) -> list[Raid]:
    """Raids at one nest: each camera's stops there, those with short pauses taken together."""
    out: list[Raid] = []
    for each in sorted(lingering, key=lambda each: (each.camera, each.start)):
        start = max(each.start, nest.since)
        if out and out[-1].camera == each.camera and start - out[-1].end <= _PAUSE:
            out[-1] = replace(out[-1], end=max(out[-1].end, each.end))
        else:
            out.append(_raid(each, start, nest))
    return [raid for raid in out if raid.end - raid.start >= LEAST]


def _raid(each: Lingering, start: datetime, nest: Nest) -> Raid:
    return Raid(each.camera, each.what, start, each.end, each.pixel, nest.plan_m, nest.name, nest.dig)


def _same(one: Raid, other: Raid) -> bool:
    """One visit to one nest, as two cameras saw it."""
    one_nest = one.nest == other.nest and one.dig == other.dig
    return one_nest and _at_once(one, other) and one.camera != other.camera


def _at_once(one: Raid, other: Raid) -> bool:
    return one.start <= other.end + _PAUSE and other.start <= one.end + _PAUSE
