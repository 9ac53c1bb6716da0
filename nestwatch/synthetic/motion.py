"""Stretches of an animal's night, each a pure function from the time to a pose.

Times are seconds since the night's start, places metres on the plan, angles radians.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import atan2, cos, hypot, pi, sin
from typing import Protocol

import numpy as np

from nestwatch.synthetic import gait
from nestwatch.synthetic.gait import Pose

Point = tuple[float, float]
Generator = np.random.Generator


class Stretch(Protocol):
    """A part of the night during which `pose` knows where the animal is."""

    @property
    def start(self) -> float: ...
    @property
    def end(self) -> float: ...

    def pose(self, t: float) -> Pose: ...


@dataclass(frozen=True, slots=True)
class Walk:
    """A path with pauses: knots of (t, x, y, heading, metres walked). `stride_m`: one double step."""

    start: float
    end: float
    knots: tuple[tuple[float, float, float, float, float], ...]
    times: tuple[float, ...]
    stride_m: float
    dip: float = 0.0

    def pose(self, t: float) -> Pose:
        i = min(max(bisect_right(self.times, t) - 1, 0), len(self.knots) - 2)
        a, b = self.knots[i], self.knots[i + 1]
        k = min(max((t - a[0]) / max(b[0] - a[0], 1e-6), 0.0), 1.0)
        x, y, heading, walked = (a[j] + k * (b[j] - a[j]) for j in range(1, 5))
        moving = b[4] > a[4]
        return gait.walking(x, y, heading, strides=walked / self.stride_m, moving=moving, dip=self.dip)


class _Path:
    """Collects the knots of a walk."""

    def __init__(self, at: Point, heading: float, t: float) -> None:
        self.knots = [(t, at[0], at[1], heading, 0.0)]

    def pause(self, seconds: float) -> None:
        t, x, y, heading, walked = self.knots[-1]
        self.knots.append((t + seconds, x, y, heading, walked))

    def turn(self, heading: float, *, rate: float = 0.35) -> None:
        """Turns on the spot the shorter way round, `rate` radians a second."""
        t, x, y, now, walked = self.knots[-1]
        by = (heading - now + pi) % (2 * pi) - pi
        if abs(by) > 0.02:
            self.knots.append((t + abs(by) / rate, x, y, now + by, walked + 0.03 * abs(by)))

    def go(self, to: Point, speed: float, rng: Generator, *, pausing: float) -> None:
        """Walks straight to a place in pieces of uneven speed, now and then stopping."""
        _, x, y, _, _ = self.knots[-1]
        far = hypot(to[0] - x, to[1] - y)
        if far < 1e-4:
            return
        self.turn(atan2(to[1] - y, to[0] - x))
        for k in range(1, max(1, round(far / 0.2)) + 1):
            share = k / max(1, round(far / 0.2))
            t, _, _, heading, walked = self.knots[-1]
            step = far / max(1, round(far / 0.2))
            took = step / (speed * rng.uniform(0.6, 1.4))
            place = (x + share * (to[0] - x), y + share * (to[1] - y))
            self.knots.append((t + took, *place, heading, walked + step))
            if rng.random() < pausing:
                self.pause(float(rng.uniform(2, 25)))

    def walk(self, *, stride_m: float, dip: float = 0.0, until: float | None = None) -> Walk:
        """The walk; with `until`, its times are stretched so that it ends then."""
        start, end = self.knots[0][0], self.knots[-1][0]
        k = 1.0 if until is None or end <= start else (until - start) / (end - start)
        knots = tuple((start + (t - start) * k, *rest) for t, *rest in self.knots)
        if len(knots) == 1:
            knots = (*knots, (max(until or start, start + 1.0), *knots[0][1:]))
        times = tuple(knot[0] for knot in knots)
        return Walk(start, times[-1], knots, times, stride_m, dip)  # type: ignore[arg-type]


def walk_to(
    start: Point,
    goal: Point,
    *,
    t: float,
    speed: float,
    shell_m: float,
    rng: Generator,
    heading: float | None = None,
) -> Walk:
    """From one place to another with a bend in between; `speed` in m/s."""
    first = atan2(goal[1] - start[1], goal[0] - start[0]) if heading is None else heading
    path = _Path(start, first, t)
    bend = rng.normal(0, 0.12, 2)
    path.go(
        ((start[0] + goal[0]) / 2 + bend[0], (start[1] + goal[1]) / 2 + bend[1]), speed, rng, pausing=0.12
    )
    path.go(goal, speed, rng, pausing=0.12)
    return path.walk(stride_m=0.45 * shell_m)


def walk_along(
    places: Sequence[Point],
    *,
    heading: float,
    face: float,
    t: float,
    speed: float,
    shell_m: float,
    rng: Generator,
) -> Walk:
    """Straight from place to place without a stop; at last turned towards `face` (radians)."""
    path = _Path(places[0], heading, t)
    for place in places[1:]:
        path.go(place, speed, rng, pausing=0.0)
    path.turn(face)
    return path.walk(stride_m=0.45 * shell_m)


@dataclass(frozen=True, slots=True)
class Climb:
    """A walk over something `height` shell lengths high that lies at `at` and reaches `reach` metres."""

    walk: Walk
    at: Point
    reach: float
    height: float

    @property
    def start(self) -> float:
        return self.walk.start

    @property
    def end(self) -> float:
        return self.walk.end

    def pose(self, t: float) -> Pose:
        pose = self.walk.pose(t)
        near = 1.5 - 1.5 * hypot(pose.x - self.at[0], pose.y - self.at[1]) / self.reach
        return replace(pose, lift=pose.lift + self.height * min(max(near, 0.0), 1.0))


def wander(
    start: Point,
    goal: Point,
    *,
    heading: float,
    begin: float,
    until: float,
    speed: float,
    shell_m: float,
    allowed: Callable[[Point, Point], bool],
    rng: Generator,
) -> Walk:
    """Looks about for a place, nose to the ground, and ends at `goal` facing `heading` at `until`.

    `allowed(here, there)`: whether that way may be gone.
    """
    path = _Path(start, atan2(goal[1] - start[1], goal[0] - start[0]), begin)
    while path.knots[-1][0] < begin + 0.7 * (until - begin):
        place = (goal[0] + rng.normal(0, 0.35), goal[1] + rng.normal(0, 0.35))
        if allowed((path.knots[-1][1], path.knots[-1][2]), place):
            path.go(place, 0.6 * speed, rng, pausing=0.25)
        path.pause(float(rng.uniform(3, 40)))
    path.go(goal, 0.6 * speed, rng, pausing=0.25)
    path.turn(heading)
    return path.walk(stride_m=0.45 * shell_m, dip=0.1, until=until)


@dataclass(frozen=True, slots=True)
class Beats:
    """Short movements in a long stillness: (start, seconds, side, strength) each, in order."""

    starts: tuple[float, ...]
    beats: tuple[tuple[float, float, int, float], ...]

    def at(self, t: float) -> tuple[float, int, float]:
        """How far through the movement (0..1; 1 = none is on), its side and strength."""
        i = bisect_right(self.starts, t) - 1
        if i < 0:
            return 1.0, 1, 0.0
        start, seconds, side, strength = self.beats[i]
        return min((t - start) / seconds, 1.0), side, strength


def _beats(found: list[tuple[float, float, int, float]]) -> Beats:
    return Beats(tuple(beat[0] for beat in found), tuple(found))


def stroke_beats(
    start: float, end: float, *, per_minute: float, rng: Generator, restless: float = 1.0
) -> Beats:
    """Alternate strokes in bouts of 40 s to 4 min with pauses of 10 s to 3 min between."""
    found: list[tuple[float, float, int, float]] = []
    period, side, t = 60.0 / per_minute, 1, start + float(rng.uniform(1, 8))
    while t < end:
        bout = t + float(rng.uniform(40, 240)) * restless
        while t < min(bout, end):
            took = period * float(rng.uniform(0.9, 1.1))
            found.append((t, min(0.8 * took, 7.0), side, 1.0))
            side, t = -side, t + took
        t += float(np.exp(rng.uniform(np.log(10), np.log(180)))) / restless
    return _beats(found)


def rare_beats(start: float, end: float, *, every: Point, lasting: Point, rng: Generator) -> Beats:
    """Single movements of random side and strength, `every` and `lasting` (low, high) seconds."""
    found: list[tuple[float, float, int, float]] = []
    t = start + float(rng.uniform(*every))
    while t < end:
        side = 1 if rng.random() < 0.5 else -1
        found.append((t, float(rng.uniform(*lasting)), side, float(rng.uniform(-1, 1))))
        t += float(rng.uniform(*every))
    return _beats(found)


@dataclass(frozen=True, slots=True)
class Drift:
    """A slow turn and shuffle while on the spot: knots in time, radians and shell lengths."""

    times: tuple[float, ...]
    turn: tuple[float, ...]
    shift: tuple[float, ...]

    def at(self, t: float) -> tuple[float, float]:
        i = bisect_right(self.times, t) - 1
        if i < 0 or i >= len(self.times) - 1:
            k = max(i, 0)
            return self.turn[k], self.shift[k]
        share = (t - self.times[i]) / (self.times[i + 1] - self.times[i])
        a, b, c, d = self.turn[i], self.turn[i + 1], self.shift[i], self.shift[i + 1]
        return a + share * (b - a), c + share * (d - c)


def slow_drift(start: float, end: float, *, turn: float, shift: float, rng: Generator) -> Drift:
    """Steps of a few seconds every 4 to 12 minutes, within ±`turn` radians and ±`shift` shell lengths."""
    times, turns, shifts = [start], [0.0], [0.0]
    t = start + float(rng.uniform(240, 720))
    while t < end:
        times += [t, t + float(rng.uniform(3, 8))]
        turns += [turns[-1], float(rng.uniform(-turn, turn))]
        shifts += [shifts[-1], float(rng.uniform(-shift, shift))]
        t = times[-1] + float(rng.uniform(240, 720))
    return Drift(tuple(times), tuple(turns), tuple(shifts))


@dataclass(frozen=True, slots=True)
class OnSpot:
    """A stretch on one spot. The rear edge of the shell stays over `rear` but for the drift.

    `manner`: how it moves there. `beats` are its strokes, scrapes, contractions or head movements.
    """

    start: float
    end: float
    manner: str
    rear: Point
    heading: float
    shell_m: float
    drift: Drift
    beats: Beats
    limbs: float = 1.0

    def pose(self, t: float) -> Pose:
        turn, shift = self.drift.at(t)
        heading = self.heading + turn
        ahead = (0.5 + shift) * self.shell_m
        x, y = self.rear[0] + ahead * cos(heading), self.rear[1] + ahead * sin(heading)
        share, side, strength = self.beats.at(t)
        pose = _MANNERS[self.manner](x, y, heading, share, side, strength)
        if self.limbs == 1:
            return pose
        return gait.softened(pose, _MANNERS[self.manner](x, y, heading, 1.0, side, 0.0), self.limbs)


def _rest(x: float, y: float, heading: float, share: float, side: int, strength: float) -> Pose:
    bell = sin(pi * share) if share < 1 else 0.0
    limb = max(0.0, strength) * bell if side > 0 else 0.0
    return gait.resting(x, y, heading, head=0.5 + 0.4 * bell, head_turn=0.7 * strength * bell, fidget=limb)


_MANNERS: dict[str, Callable[[float, float, float, float, int, float], Pose]] = {
    "search": lambda x, y, h, u, side, s: gait.sniffing(
        x, y, h + 0.5 * s * (sin(pi * u) if u < 1 else 0.0), scrape=u, side=side, head_turn=0.6 * s
    ),
    "dig": lambda x, y, h, u, side, s: gait.digging(x, y, h, stroke=u, side=side),
    "lay": lambda x, y, h, u, side, s: gait.laying(x, y, h, squeeze=u),
    "cover": lambda x, y, h, u, side, s: gait.covering(x, y, h, stroke=u, side=side),
    "pack": lambda x, y, h, u, side, s: gait.packing(x, y, h, stroke=u, side=side),
    "rest": _rest,
    "nod": lambda x, y, h, u, side, s: gait.nodding(
        x, y, h, nod=u, head_turn=0.7 * s, fidget=max(0.0, -s) * (sin(pi * u) if u < 1 else 0.0)
    ),
}


def on_spot(
    manner: str,
    start: float,
    end: float,
    *,
    rear: Point,
    heading: float,
    shell_m: float,
    drift: Drift,
    cadence: float,
    rng: Generator,
    limbs: float = 1.0,
) -> OnSpot:
    """A stretch on the spot with movements fit for its manner; `cadence` in strokes per minute."""
    if manner in ("dig", "cover", "pack"):
        pace = {"dig": 1.0, "cover": 0.85, "pack": 1.2}[manner] * cadence
        beats = stroke_beats(start, end, per_minute=pace, rng=rng, restless=1.6 if manner != "dig" else 1.0)
    else:
        every, lasting = {
            "search": ((4.0, 25.0), (2.0, 5.0)),
            "lay": ((60.0, 180.0), (2.5, 5.0)),
            "rest": ((60.0, 420.0), (2.0, 10.0)),
            "nod": ((5.0, 60.0), (1.5, 5.0)),
        }[manner]
        beats = rare_beats(start, end, every=every, lasting=lasting, rng=rng)
    return OnSpot(start, end, manner, rear, heading, shell_m, drift, beats, limbs)
