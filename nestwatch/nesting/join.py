"""Cameras that see the same pen: their digs joined, so that one animal is one entry with the better pictures.

Two digs are one where their stays share time and the animals' places on the plan agree within what both
cameras can tell (chi-square gate on the Mahalanobis distance, Bar-Shalom & Fortmann 1988, Tracking and Data
Association). Which goes with which is the cheapest one-to-one assignment (Kuhn 1955, doi
10.1002/nav.3800020109), in which leaving a dig alone costs as much as the gate: so two digs of one camera
never become one. Two animals cannot lie in one place, and no nest may vanish behind another: beyond three
quarters of a shell nothing is joined, however unsure the places are.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from scipy.optimize import linear_sum_assignment
from scipy.special import chdtri

from nestwatch.nesting.fusion import PlanPlace, apart, fused
from nestwatch.nesting.joined_call import joined_reasons, telling
from nestwatch.nesting.records import Dig, Stage

GATE = float(chdtri(2, 0.01))
_EDGE_S = 150.0
_EDGE_MOST = 4.0
_SHARED_TIME = 0.5
_BESIDE_SHELLS = 0.75
_SAME_TIME = 0.8


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """One camera's dig with what is needed to join it.

    `pen`: name of the pen, None where the camera belongs to none. `body`, `chamber`: where the animal and
    the eggs lie on the plan; None where the camera has no marks. `shell_m`: length of a shell, metres.
    `pictured`: whether there are pictures of it.
    """

    dig: Dig
    pen: str | None
    body: PlanPlace | None
    chamber: PlanPlace | None
    shell_m: float
    pictured: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class JoinedDig:
    """One stay as all cameras saw it.

    `views`: best first. `dig`: of the best view, with times, call, stages and reasons from all. `chamber`:
    where all place the eggs, None without marks.
    """

    views: tuple[Seen, ...]
    dig: Dig
    chamber: PlanPlace | None


def join_digs(seen: Sequence[Seen], ahead_s: Mapping[str, float] | None = None) -> list[JoinedDig]:
    """Every stay once. `ahead_s`: seconds that cameras' clocks are ahead of each other, 0 where not named."""
    clocks = dict(ahead_s or {})
    groups: list[list[Seen]] = []
    for camera in dict.fromkeys(each.dig.camera for each in seen):
        _add(groups, [each for each in seen if each.dig.camera == camera], clocks)
    joined = [_joined(group, clocks) for group in groups]
    return [_noted(each, joined, clocks) for each in joined]


def _add(groups: list[list[Seen]], digs: list[Seen], clocks: Mapping[str, float]) -> None:
    """Puts one camera's `digs` to the groups they belong to; the rest become groups of their own."""
    left = set(range(len(digs)))
    if groups and digs:
        cost = np.array([[max(_cost(dig, one, clocks) for one in group) for dig in digs] for group in groups])
        for row, column in zip(*linear_sum_assignment(np.minimum(cost, _ALONE)), strict=True):
            if cost[row, column] < _ALONE:
                groups[row].append(digs[column])
                left.discard(int(column))
    groups += [[digs[index]] for index in sorted(left)]


_ALONE = GATE + 2 * _EDGE_MOST + 1.0


def _cost(one: Seen, other: Seen, clocks: Mapping[str, float]) -> float:
    """How badly two digs go together; infinite where they cannot be one."""
    if one.body is None or other.body is None or one.pen != other.pen or one.pen is None:
        return float("inf")
    (a0, a1), (b0, b1) = _span(one, clocks), _span(other, clocks)
    if min(a1, b1) - max(a0, b0) < _SHARED_TIME * min(a1 - a0, b1 - b0):
        return float("inf")
    place = apart(one.body, other.body)
    if place > GATE or _metres(one, other) > _BESIDE_SHELLS * max(one.shell_m, other.shell_m):
        return float("inf")
    starts, ends = one.dig.start_seen and other.dig.start_seen, one.dig.end_seen and other.dig.end_seen
    return place + _edge(a0 - b0) * starts + _edge(a1 - b1) * ends


def _edge(seconds: float) -> float:
    """Cost of edges that differ; bounded, as a camera may see an animal only once it stirs."""
    return min((seconds / _EDGE_S) ** 2, _EDGE_MOST)


def _metres(one: Seen, other: Seen) -> float:
    if one.body is None or other.body is None:
        return float("inf")
    return float(np.hypot(*(one.body.at - other.body.at)))


def _span(seen: Seen, clocks: Mapping[str, float]) -> tuple[float, float]:
    """Start and end in POSIX seconds, the camera's clock put right."""
    ahead = clocks.get(seen.dig.camera, 0.0)
    return seen.dig.start.timestamp() - ahead, seen.dig.end.timestamp() - ahead


def _joined(group: list[Seen], clocks: Mapping[str, float]) -> JoinedDig:
    views = tuple(sorted(group, key=_clearness, reverse=True))
    places = [view.chamber for view in views if view.chamber is not None]
    dig = views[0].dig if len(views) == 1 else _one_dig([view.dig for view in views], clocks)
    return JoinedDig(views, dig, fused(places) if places else None)


def _clearness(seen: Seen) -> tuple[bool, float, float]:
    """Orders views: those with pictures, then the animal seen largest, then the chamber placed best."""
    return seen.pictured, seen.dig.shell_length_px or 0.0, -seen.dig.chamber_radius_px


def _one_dig(digs: list[Dig], clocks: Mapping[str, float]) -> Dig:
    """The best view's dig with the times, call, stages and reasons of all; times by the best view's clock."""
    best, main = digs[0], telling(digs)
    start, start_seen = _bound(digs, main, clocks, "start")
    end, end_seen = _bound(digs, main, clocks, "end")
    shift = _shift(main, best, clocks)
    return replace(
        best,
        start=start,
        end=max(end, start + timedelta(seconds=1)),
        start_seen=start_seen,
        end_seen=end_seen,
        call=main.call,
        likelihood=main.likelihood,
        likelihood_as_built=main.likelihood_as_built,
        reasons=joined_reasons(digs, main, start_seen=start_seen, end_seen=end_seen),
        stages=tuple(Stage(s.stage, s.start + shift, s.end + shift) for s in main.stages),
        in_nesting_hours=any(dig.in_nesting_hours for dig in digs),
    )


def _bound(digs: list[Dig], main: Dig, clocks: Mapping[str, float], edge: str) -> tuple[datetime, bool]:
    """The stay's start or end and whether it was seen: of `main`, unless only another camera saw it."""
    seen = [dig for dig in (main, *digs) if getattr(dig, f"{edge}_seen")]
    teller = seen[0] if seen else main
    at: datetime = getattr(teller, edge)
    return at + _shift(teller, digs[0], clocks), bool(seen)


def _shift(dig: Dig, best: Dig, clocks: Mapping[str, float]) -> timedelta:
    """What to add to a time of `dig` to have it by the clock of `best`'s camera."""
    return timedelta(seconds=clocks.get(best.camera, 0.0) - clocks.get(dig.camera, 0.0))


def _noted(joined: JoinedDig, others: Sequence[JoinedDig], clocks: Mapping[str, float]) -> JoinedDig:
    """`joined` with a reason for each entry of another camera that may be the same animal."""
    notes = [*_beside(joined, others, clocks), *_unplaced(joined, others, clocks)]
    if not notes:
        return joined
    dig = replace(joined.dig, reasons=(*joined.dig.reasons, *notes))
    return replace(joined, dig=dig)


def _beside(joined: JoinedDig, others: Sequence[JoinedDig], clocks: Mapping[str, float]) -> list[str]:
    """Other cameras' animals so near that they may be this one, but too far to be sure."""
    cameras = {view.dig.camera for view in joined.views}
    out = []
    for other in others:
        one, two = joined.views[0], other.views[0]
        near = one.body is not None and two.body is not None and apart(one.body, two.body) <= GATE
        apart_too = cameras.isdisjoint(view.dig.camera for view in other.views)
        if near and apart_too and one.pen == two.pen and _together(one, two, clocks) >= _SHARED_TIME:
            far = round(100 * _metres(one, two))
            out.append(
                f'camera "{two.dig.camera}" shows an animal '
                f"{far} cm away at the same time: "
                "it may be another, so both are listed"
            )
    return out


def _unplaced(joined: JoinedDig, others: Sequence[JoinedDig], clocks: Mapping[str, float]) -> list[str]:
    """Where marks are missing nothing is joined; a lone companion in time in the other camera is told."""
    one = joined.views[0]
    out = []
    for camera in dict.fromkeys(other.views[0].dig.camera for other in others):
        mates = [
            o.views[0] for o in others if o.views[0].dig.camera == camera and _mates(one, o.views[0], clocks)
        ]
        if len(mates) != 1:
            continue
        rivals = [
            o
            for o in others
            if o.views[0].dig.camera == one.dig.camera and _mates(o.views[0], mates[0], clocks)
        ]
        if len(rivals) == 1:
            lack = " and ".join(f'"{each.dig.camera}"' for each in (one, mates[0]) if each.body is None)
            out.append(
                f'camera "{camera}" shows an animal at the same time; without marks on {lack} '
                "nobody can tell whether it is the same"
            )
    return out


def _mates(one: Seen, other: Seen, clocks: Mapping[str, float]) -> bool:
    """Two cameras' digs of one pen that share nearly all their time, at least one without a place."""
    unplaced = one.body is None or other.body is None
    pen = one.pen is not None and one.pen == other.pen and one.dig.camera != other.dig.camera
    return unplaced and pen and _together(one, other, clocks) > _SAME_TIME


def _together(one: Seen, other: Seen, clocks: Mapping[str, float]) -> float:
    """Shared time as a part of the longer stay, 0..1."""
    (a0, a1), (b0, b1) = _span(one, clocks), _span(other, clocks)
    return max(0.0, min(a1, b1) - max(a0, b0)) / max(a1 - a0, b1 - b0, 1.0)
