"""Visitors on legs: a person, an animal the size of a cat or raccoon, a small one such as a toad or mouse."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, hypot, pi, sin
from typing import ClassVar

import cv2
import numpy as np

from nestwatch.synthetic.cast import Actor
from nestwatch.synthetic.figure import (
    Ellipsoids,
    Floats,
    Stamp,
    bounds,
    fineness,
    limbs,
    outlines,
    spin,
)
from nestwatch.synthetic.layout import Layout
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.nuisances.base import Bytes, Light, Nuisance, Plan, Settings, kinds, register
from nestwatch.synthetic.scenario import Span

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Trail:
    """A walk over the plan: knots (t, x, y); standing still where two knots share a place."""

    times: Floats
    places: Floats

    def at(self, t: float) -> tuple[float, float, float, bool]:
        """x, y, heading and whether it moves."""
        i = int(np.clip(np.searchsorted(self.times, t) - 1, 0, len(self.times) - 2))
        (x0, y0), (x1, y1) = self.places[i], self.places[i + 1]
        k = (t - self.times[i]) / max(self.times[i + 1] - self.times[i], 1e-6)
        moving = hypot(x1 - x0, y1 - y0) > 1e-6
        j = i if moving or i == 0 else i - 1
        ahead = self.places[j + 1] - self.places[j]
        return x0 + k * (x1 - x0), y0 + k * (y1 - y0), atan2(ahead[1], ahead[0]), moving


def make_trail(plan: Plan, layout: Layout, *, outside: float) -> Trail:
    """Comes in over one side of the pen at the plan's start, stops here and there, leaves over a side."""
    rng = np.random.default_rng(plan.seed)
    stops = rng.uniform(0.1, 0.9, (int(rng.integers(2, 6)), 2)) * (layout.width, layout.depth)
    ways = [edge(layout, rng, outside), *map(tuple, stops), edge(layout, rng, outside)]
    speed, wait = plan.values["speed_m_s"], plan.values["stop_s"]
    times, places = [plan.start], [ways[0]]
    for k, place in enumerate(ways[1:], start=1):
        far = hypot(place[0] - places[-1][0], place[1] - places[-1][1])
        times.append(times[-1] + max(far / speed, 0.1))
        places.append(place)
        if k < len(ways) - 1:
            times.append(times[-1] + float(rng.exponential(wait)) + 0.1)
            places.append(place)
    return Trail(np.array(times), np.array(places, float))


def edge(layout: Layout, rng: np.random.Generator, outside: float) -> Point:
    """A place `outside` metres beyond one of the pen's sides (never the south, where the camera often is)."""
    along = float(rng.uniform(0.2, 0.8))
    return [
        (-outside, along * layout.depth),
        (layout.width + outside, along * layout.depth),
        (along * layout.width, layout.depth + outside),
    ][int(rng.integers(3))]


class Walker(Nuisance):
    """Something with a trail and a body of ellipsoids."""

    outside: ClassVar[float] = 1.2

    def __init__(self, plan: Plan, layout: Layout, lens: Lens, camera: str) -> None:
        super().__init__(plan, layout, lens, camera)
        self._trail = self.trail(plan, layout)
        self._tone = float(plan.values["tone"])
        self._seed = plan.seed

    @classmethod
    def shows(cls, plan: Plan, layout: Layout) -> tuple[float, float]:
        times = cls.trail(plan, layout).times
        return float(times[0]), float(times[-1])

    @classmethod
    def trail(cls, plan: Plan, layout: Layout) -> Trail:
        """Where it goes."""
        return make_trail(plan, layout, outside=cls.outside)

    @classmethod
    def guest(cls, plan: Plan, layout: Layout) -> Actor | None:
        """What the truth says of a stay on one spot; None for one that only walks about.

        The actor's `shell_m` is the body's length, and it has no stretches: the disturbance draws it.
        """
        return None

    def parts(self, t: float, moving: bool) -> Ellipsoids:
        """The body at `t` in metres, x ahead."""
        raise NotImplementedError

    def draw(self, picture: Bytes, t: float, light: Light) -> None:
        if not self._trail.times[0] <= t < self._trail.times[-1]:
            return
        x, y, heading, moving = self._trail.at(t)
        body, turn = self.parts(t, moving), spin(heading)
        body = Ellipsoids(body.centres @ turn.T, body.halves @ turn.T, body.tones)
        seen = _seen(self.lens, (x, y), body)
        if seen is None:
            return
        stamp = Stamp(picture, bounds(seen), fine=fineness(self.lens) if self.outside < 2 else 1)
        foot = self.lens.project([(x, y, 0.02)])[0]
        gain = light(float(foot[0]), float(foot[1]))
        if stamp.empty:
            return
        order = np.argsort(-np.linalg.norm(body.centres + np.array([x, y, 0.0]) - self.lens.eye, axis=1))
        levels = np.clip(16 + gain * body.tones, 16, 250)
        points = stamp.points(seen)
        for k in order:
            stamp.oval(points[k], float(levels[k]))
        stamp.blend(picture)
        if hasattr(self, "eyes"):
            self.eyes(picture, x, y, turn)


def _seen(lens: Lens, at: Point, body: Ellipsoids) -> Floats | None:
    """Outlines in pixels, each part with the lens as it is there; None when any is behind the camera."""
    middles = body.centres + np.array([at[0], at[1], 0.0])
    bases = lens.project(middles)
    if not np.isfinite(bases).all():
        return None
    shapes = []
    for middle, base, halves, tone in zip(middles, bases, body.halves, body.tones, strict=True):
        one = Ellipsoids(np.zeros((1, 3)), halves[None], np.array([tone]))
        shapes.append(outlines(lens.near(middle), base, one)[0])
    seen = np.array(shapes)
    return seen if np.isfinite(seen).all() and np.abs(seen).max() < 20 * lens.width else None


def ball(centre: Floats, halves: tuple[float, float, float], tone: float) -> Ellipsoids:
    """One upright ellipsoid."""
    return Ellipsoids(np.array([centre]), np.diag(halves)[None], np.array([tone]))


def joined(*parts: Ellipsoids) -> Ellipsoids:
    """Several bodies as one."""
    return Ellipsoids(
        np.concatenate([part.centres for part in parts]),
        np.concatenate([part.halves for part in parts]),
        np.concatenate([part.tones for part in parts]),
    )


class WalkSettings(Settings):
    """`speed_m_s`: while moving. `stop_s`: mean length of a stop. `tone`: reflectance of the body."""

    speed_m_s: Span = (0.25, 0.6)
    stop_s: Span = (3.0, 40.0)
    tone: Span = (0.25, 0.75)


class AnimalSettings(WalkSettings):
    """`length_m`: from chest to rump."""

    length_m: Span = (0.35, 0.6)


def four_legs(
    size: float, tone: float, feet: Floats, *, head: float, tail: float, dip: float = 0.0
) -> Ellipsoids:
    """A body `size` metres long on four legs (`feet`: (4, 3) in body lengths, front left and right first).

    `head`: its height, `tail`: how far aside its tip, `dip`: how far the shoulders are lowered.
    """
    low = 0.4 - dip
    roots = np.array(
        [[0.4, 0.12, low], [0.4, -0.12, low], [-0.4, 0.12, 0.4], [-0.4, -0.12, 0.4], [-0.5, 0, 0.5]]
    )
    ends = np.vstack([feet, [-1.0, tail, 0.35]])
    thick = np.array([0.07, 0.07, 0.08, 0.08, 0.06])
    legs = limbs(size * roots, size * ends, size * thick, tone * np.array([0.75, 0.7, 0.75, 0.7, 1.1]))
    trunk = ball(size * np.array([0.0, 0, 0.48 - 0.5 * dip]), (size * 0.55, size * 0.2, size * 0.22), tone)
    lean = spin(0.0, pitch=-dip)
    trunk = Ellipsoids(trunk.centres, trunk.halves @ lean.T, trunk.tones)
    front = ball(size * np.array([0.62, 0, head]), (size * 0.17, size * 0.13, size * 0.13), 1.05 * tone)
    return joined(legs, trunk, front)


@register
class LargerAnimal(Walker):
    """A four-legged animal the size of a cat or a raccoon, with shining eyes."""

    kind: ClassVar[str] = "larger_animal"
    Settings: ClassVar[type[Settings]] = AnimalSettings

    def parts(self, t: float, moving: bool) -> Ellipsoids:
        size, tone = self.plan.values["length_m"], self._tone
        step = 0.18 * sin(2 * pi * 1.6 * t) if moving else 0.0
        tail = 0.1 * sin(2 * pi * 0.3 * t)
        feet = np.array(
            [
                [0.4 + step, 0.13, 0.03],
                [0.4 - step, -0.13, 0.03],
                [-0.4 - step, 0.13, 0.03],
                [-0.4 + step, -0.13, 0.03],
            ]
        )
        return four_legs(size, tone, feet, head=0.55 if moving else 0.35, tail=tail)

    def eyes(self, picture: Bytes, x: float, y: float, turn: Floats) -> None:
        """Eyes that send infrared back when the head points towards the camera."""
        size = self.plan.values["length_m"]
        view = self.lens.eye - (x, y, 0.2)
        if float(turn[:, 0] @ view) < 0.3 * float(np.linalg.norm(view)):
            return
        spots = np.array([[0.74, 0.06, 0.42], [0.74, -0.06, 0.42]]) * size @ turn.T + (x, y, 0.0)
        for px, py in np.nan_to_num(self.lens.project(spots), nan=-99.0):
            cv2.circle(picture, (int(px), int(py)), max(1, self.lens.width // 640), 250, -1, cv2.LINE_AA)


class SmallSettings(WalkSettings):
    """`length_m`: of the whole body. It moves in hops or runs."""

    length_m: Span = (0.06, 0.1)
    speed_m_s: Span = (0.03, 0.15)
    stop_s: Span = (20.0, 300.0)


@register
class SmallAnimal(Walker):
    """A toad or a mouse: low, small, much of the time still."""

    kind: ClassVar[str] = "small_animal"
    Settings: ClassVar[type[Settings]] = SmallSettings
    outside: ClassVar[float] = 0.3

    def parts(self, t: float, moving: bool) -> Ellipsoids:
        size, tone = self.plan.values["length_m"], self._tone
        up = 0.25 * abs(sin(2 * pi * 0.8 * t)) if moving else 0.0
        body = ball(size * np.array([-0.05, 0, 0.3 + up]), (size * 0.45, size * 0.3, size * 0.25), tone)
        head = ball(size * np.array([0.38, 0, 0.35 + up]), (size * 0.2, size * 0.2, size * 0.15), 1.05 * tone)
        return joined(body, head)


class PersonSettings(WalkSettings):
    """`height_m`: of the person."""

    height_m: Span = (1.55, 1.9)
    speed_m_s: Span = (0.5, 1.1)
    stop_s: Span = (3.0, 25.0)
    tone: Span = (0.3, 0.9)


@register
class Person(Walker):
    """A person who walks through the pen and stops here and there."""

    kind: ClassVar[str] = "person"
    Settings: ClassVar[type[Settings]] = PersonSettings
    outside: ClassVar[float] = 2.5

    def parts(self, t: float, moving: bool) -> Ellipsoids:
        size, tone = self.plan.values["height_m"], self._tone
        step = 0.14 * sin(2 * pi * 0.9 * t) if moving else 0.0
        roots = np.array([[0, 0.06, 0.5], [0, -0.06, 0.5], [0, 0.13, 0.8], [0, -0.13, 0.8]])
        feet = np.array([[step, 0.06, 0.03], [-step, -0.06, 0.03], [-step, 0.16, 0.47], [step, -0.16, 0.47]])
        thick = np.array([0.045, 0.045, 0.03, 0.03])
        legs = limbs(size * roots, size * feet, size * thick, np.array([0.6, 0.65, 0.9, 1.0]) * tone)
        chest = ball(size * np.array([0.0, 0, 0.66]), (size * 0.07, size * 0.12, size * 0.18), tone)
        head = ball(size * np.array([0.02, 0, 0.92]), (size * 0.06, size * 0.05, size * 0.07), 0.8)
        return joined(legs, chest, head)


def guests(plans: Sequence[Plan], layout: Layout) -> tuple[Actor, ...]:
    """The visitors of a night that stay on one spot."""
    walkers = ((kinds()[plan.kind], plan) for plan in plans)
    found = (kind.guest(plan, layout) for kind, plan in walkers if issubclass(kind, Walker))
    return tuple(guest for guest in found if guest is not None)
