"""Visitors that stay on one spot and are no turtles: a raider at a nest, a toad."""

from __future__ import annotations

from bisect import bisect_right
from math import atan2, cos, hypot, pi, sin
from typing import ClassVar

import numpy as np

from nestwatch.synthetic.cast import Actor, Event, Stage
from nestwatch.synthetic.figure import Ellipsoids
from nestwatch.synthetic.layout import Layout
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.nuisances.base import Plan, Settings, register
from nestwatch.synthetic.nuisances.creatures import (
    AnimalSettings,
    LargerAnimal,
    SmallAnimal,
    SmallSettings,
    Trail,
    ball,
    edge,
    four_legs,
    joined,
)
from nestwatch.synthetic.scenario import Span

Point = tuple[float, float]
FORE_FEET = 0.5
"""How far ahead of a raider's middle its fore feet dig, in body lengths."""
AFTER_HER_S = 300.0
"""A raider does not come before the nest has lain alone for this long."""


class _Way:
    """Collects the knots of a trail."""

    def __init__(self, t: float, place: Point) -> None:
        self.times, self.places = [t], [place]

    def go(self, to: Point, speed: float) -> None:
        far = hypot(to[0] - self.places[-1][0], to[1] - self.places[-1][1])
        self.times.append(self.times[-1] + max(far / speed, 0.1))
        self.places.append(to)

    def wait(self, seconds: float) -> None:
        self.times.append(self.times[-1] + seconds)
        self.places.append(self.places[-1])

    def trail(self) -> Trail:
        return Trail(np.array(self.times), np.array(self.places, float))


class RaiderSettings(AnimalSettings):
    """`nest`: the animal whose finished nest it opens. `dig_min`: minutes it digs there."""

    nest: str = "F1"
    dig_min: Span = (5.0, 20.0)


@register
class Raider(LargerAnimal):
    """An animal the size of a cat or raccoon that opens a nest with its fore feet and goes.

    It comes at the plan's start, or five minutes after the nest was finished if that is later. Without a nest
    it passes like any other.
    """

    kind: ClassVar[str] = "raider"
    Settings: ClassVar[type[Settings]] = RaiderSettings

    def __init__(self, plan: Plan, layout: Layout, lens: Lens, camera: str) -> None:
        super().__init__(plan, layout, lens, camera)
        guest = self.guest(plan, layout)
        self._dig = (guest.events[0].start, guest.events[0].end) if guest else (0.0, 0.0)
        self._bouts = _bouts(plan, *self._dig)

    @classmethod
    def trail(cls, plan: Plan, layout: Layout) -> Trail:
        if plan.values["nest"] not in layout.nests:
            return super().trail(plan, layout)
        x, y, since = layout.nests[plan.values["nest"]]
        rng = np.random.default_rng(plan.seed)
        speed = plan.values["speed_m_s"]
        way = _Way(max(plan.start, since + AFTER_HER_S), edge(layout, rng, cls.outside))
        sniff = (float(rng.uniform(0.1, 0.9)) * layout.width, float(rng.uniform(0.1, 0.9)) * layout.depth)
        way.go(sniff, speed)
        way.wait(float(rng.exponential(plan.values["stop_s"])) + 0.1)
        turn = atan2(y - sniff[1], x - sniff[0])
        reach = FORE_FEET * plan.values["length_m"]
        way.go((x - reach * cos(turn), y - reach * sin(turn)), speed)
        way.wait(60 * plan.values["dig_min"])
        way.go(edge(layout, rng, cls.outside), speed)
        return way.trail()

    @classmethod
    def guest(cls, plan: Plan, layout: Layout) -> Actor | None:
        if plan.values["nest"] not in layout.nests:
            return None
        x, y, _ = layout.nests[plan.values["nest"]]
        trail = cls.trail(plan, layout)
        start, end = float(trail.times[-3]), float(trail.times[-2])
        _, _, heading, _ = trail.at(0.5 * (start + end))
        return _guest("raider", "raid", plan, (start, end), (x, y), heading)

    def parts(self, t: float, moving: bool) -> Ellipsoids:
        if not self._dig[0] <= t < self._dig[1]:
            return super().parts(t, moving)
        size, tone = self.plan.values["length_m"], self._tone
        strokes = self._strokes(t)
        left, right = sin(2 * pi * strokes), -sin(2 * pi * strokes)
        feet = np.array(
            [
                [FORE_FEET - 0.05 + 0.14 * left, 0.08, 0.03 + 0.05 * max(left, 0.0)],
                [FORE_FEET - 0.05 + 0.14 * right, -0.08, 0.03 + 0.05 * max(right, 0.0)],
                [-0.36, 0.14, 0.03],
                [-0.36, -0.14, 0.03],
            ]
        )
        rock = 0.03 * left
        return four_legs(size, tone, feet, head=0.16 + rock, tail=rock, dip=0.14 - rock)

    def _strokes(self, t: float) -> float:
        """Double strokes since the digging began; it stands still between bouts."""
        starts, done, rates, ends = self._bouts
        i = bisect_right(starts, t) - 1
        return 0.0 if i < 0 else done[i] + rates[i] * (min(t, ends[i]) - starts[i])


Bouts = tuple[list[float], list[float], list[float], list[float]]


def _bouts(plan: Plan, start: float, end: float) -> Bouts:
    """Bouts of 10 to 60 s at 1 to 2.5 double strokes a second, and pauses of 2 to 15 s in which it looks up.

    Gives starts, strokes done before, strokes a second, ends.
    """
    rng = np.random.default_rng([plan.seed, 2])
    starts, done, rates, ends = [], [], [], []
    t, total = start, 0.0
    while t < end:
        rate, last = float(rng.uniform(1.0, 2.5)), t + float(rng.uniform(10, 60))
        starts.append(t)
        done.append(total)
        rates.append(rate)
        ends.append(last)
        total += rate * (last - t)
        t = last + float(rng.uniform(2, 15))
    return starts, done, rates, ends


class ToadSettings(SmallSettings):
    """`sit_min`: minutes it sits on one spot."""

    length_m: Span = (0.06, 0.11)
    sit_min: Span = (60.0, 180.0)


@register
class Toad(SmallAnimal):
    """Hops to a place in the nesting zone, sits there for an hour or three, hops away.

    While it sits its throat pulses, and every ten to forty minutes it shifts by a centimetre or two.
    """

    kind: ClassVar[str] = "toad"
    Settings: ClassVar[type[Settings]] = ToadSettings

    @classmethod
    def trail(cls, plan: Plan, layout: Layout) -> Trail:
        rng = np.random.default_rng(plan.seed)
        speed = plan.values["speed_m_s"]
        way = _Way(plan.start, edge(layout, rng, cls.outside))
        way.go(_spot(layout, rng), speed)
        until = way.times[-1] + 60 * plan.values["sit_min"]
        while way.times[-1] < until:
            way.wait(min(float(rng.uniform(600, 2400)), until - way.times[-1] + 1))
            dx, dy = rng.normal(0, 0.012, 2).tolist()
            way.go((way.places[-1][0] + dx, way.places[-1][1] + dy), speed)
        way.go(edge(layout, rng, cls.outside), speed)
        return way.trail()

    @classmethod
    def guest(cls, plan: Plan, layout: Layout) -> Actor | None:
        trail = cls.trail(plan, layout)
        x, y = trail.places[1:-1].mean(axis=0)
        _, _, heading, _ = trail.at(0.5 * float(trail.times[1] + trail.times[2]))
        span = (float(trail.times[1]), float(trail.times[-2]))
        return _guest("toad", "sit", plan, span, (float(x), float(y)), heading)

    def parts(self, t: float, moving: bool) -> Ellipsoids:
        if moving:
            return super().parts(t, moving)
        size, tone = self.plan.values["length_m"], self._tone
        pulse = 1 + 0.06 * sin(2 * pi * 1.1 * t)
        body = ball(size * np.array([-0.05, 0, 0.3]), (size * 0.45, size * 0.32, size * 0.25), tone)
        head = ball(
            size * np.array([0.38, 0, 0.3]),
            (size * 0.2, size * 0.2 * pulse, size * 0.15 * pulse),
            1.05 * tone,
        )
        return joined(body, head)


def _spot(layout: Layout, rng: np.random.Generator) -> Point:
    """A place in the nesting zone that every camera sees (the zone's middle if none is found)."""
    (x0, y0), _, (x1, y1), _ = layout.nesting
    for _ in range(500):
        place = (float(rng.uniform(x0, x1)), float(rng.uniform(y0, y1)))
        if layout.in_nesting(place, margin=0.2) and layout.in_every_picture(place):
            return place
    return 0.5 * (x0 + x1), 0.5 * (y0 + y1)


def _guest(
    name: str, kind: str, plan: Plan, span: tuple[float, float], place: Point, heading: float
) -> Actor:
    """A visitor's stay. `place` is the hole of a raid, or the sitter's middle."""
    size, raid = float(plan.values["length_m"]), kind == "raid"
    ahead = 0.0 if raid else 0.5 * size
    rear = place[0] - ahead * cos(heading), place[1] - ahead * sin(heading)
    stages = (Stage("dig", *span),) if raid else ()
    event = Event(kind, *span, stages, rear, heading, 0.0, float(raid), float(raid), span[0], plan.seed)
    return Actor(name, size, 0.0, 0.0, plan.seed, (event,), ())
