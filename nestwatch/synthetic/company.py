"""Animals with regard to each other: beside, over, behind, and out of each other's way.

Places are metres on the plan, angles radians, times seconds since the night's start.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, cos, hypot, pi, sin

import numpy as np

from nestwatch.errors import ScenarioError
from nestwatch.synthetic import motion
from nestwatch.synthetic.cast import Actor, Event, Generator
from nestwatch.synthetic.layout import Layout, Plant
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.motion import Stretch

Point = tuple[float, float]
TRIES = 500
CLOSE = 0.8
"""Two shells lie on each other when their centres are nearer than this, in mean shell lengths (a shell is
0.8 wide)."""
STEP_S = 4.0


def first_dig(name: str, actors: Sequence[Actor], *, where: str) -> tuple[Actor, Event]:
    """The first dig of the animal of that name (those of earlier nights first).

    Raises ScenarioError when no such animal was told before, or it does not dig.
    """
    for actor in actors:
        for event in (*actor.earlier, *actor.events):
            if actor.name == name and event.dug:
                return actor, event
    raise ScenarioError(f"{where}: no animal {name!r} that digs is told before; list it first.")


def place_beside(
    actor: Actor, event: Event, shell_m: float, layout: Layout, rng: Generator
) -> tuple[Point, float]:
    """A place for the rear edge 1 to 1.6 shell lengths from another's chamber, and a heading, so that neither
    lies on the other nor on its chamber."""
    other = event.body(actor.shell_m)
    room = 0.55 * (actor.shell_m + shell_m)
    for _ in range(TRIES):
        far, turn = float(rng.uniform(1.0, 1.6)) * actor.shell_m, float(rng.uniform(-pi, pi))
        rear = event.rear[0] + far * cos(turn), event.rear[1] + far * sin(turn)
        heading = float(rng.uniform(-pi, pi))
        body = rear[0] + 0.5 * shell_m * cos(heading), rear[1] + 0.5 * shell_m * sin(heading)
        if (
            layout.in_nesting(rear)
            and layout.in_every_picture(rear)
            and _apart(body, other) > room
            and _apart(body, event.rear) > 0.8 * shell_m
            and _apart(rear, other) > 0.7 * actor.shell_m
        ):
            return rear, heading
    raise ScenarioError(f"no room beside the dig of {actor.name}; use a larger pen.")


def sides(goal: Point, far: float, layout: Layout, rng: Generator) -> tuple[Point, Point]:
    """Two places in the pen, `far` metres on either side of `goal`, across the way to the water."""
    shore = layout.shore(goal)
    across = atan2(shore[1] - goal[1], shore[0] - goal[0]) + pi / 2
    for attempt in range(TRIES):
        turn = across + float(rng.uniform(-1, 1)) * (0.6 + attempt / TRIES)
        reach = far * (1 - 0.5 * attempt / TRIES)
        x, y = reach * cos(turn), reach * sin(turn)
        ends = (goal[0] + x, goal[1] + y), (goal[0] - x, goal[1] - y)
        if all(layout.in_pen(end, margin=0.12) for end in ends):
            return ends if rng.random() < 0.5 else (ends[1], ends[0])
    raise ScenarioError("no way across the nest inside the pen; use a larger pen.")


class Attendance:
    """How an animal stays behind another (`event` of `actor`): lies, nods, shifts, at times walks around."""

    def __init__(
        self, actor: Actor, event: Event, shell_m: float, speed: float, layout: Layout, rng: Generator
    ) -> None:
        self.actor, self.event, self.layout, self.rng = actor, event, layout, rng
        self.shell_m, self.speed = shell_m, speed
        self.centre = event.body(actor.shell_m)
        self.nearest = 0.6 * (actor.shell_m + shell_m)

    def behind(self) -> Point:
        """Half a shell length to three behind her rear edge, at most a right angle from straight behind."""
        for attempt in range(TRIES):
            turn = self.event.heading + pi + float(self.rng.uniform(-0.8, 0.8)) * (1 + attempt / TRIES)
            gap = float(self.rng.uniform(0.5, 3.0 - 2.0 * attempt / TRIES)) * self.actor.shell_m
            far = gap + 0.55 * self.shell_m
            place = self.event.rear[0] + far * cos(turn), self.event.rear[1] + far * sin(turn)
            if self._fits(place):
                return place
        raise ScenarioError(f"no room behind {self.actor.name}; use a larger pen.")

    def facing(self, place: Point) -> float:
        """The direction from a place to her."""
        return atan2(self.centre[1] - place[1], self.centre[0] - place[0])

    def stretches(self, place: Point, heading: float, start: float, end: float) -> list[Stretch]:
        """What it does from `start` until about `end`, beginning at `place` turned to `heading`."""
        found: list[Stretch] = []
        t, way = start, [place]
        while t < end:
            face = self.facing(way[-1]) + float(self.rng.normal(0, 0.2))
            walk = motion.walk_along(
                way, heading=heading, face=face, t=t, speed=self.speed, shell_m=self.shell_m, rng=self.rng
            )
            heading = walk.knots[-1][3]
            lie = self._lie(way[-1], heading, walk.end, walk.end + float(self.rng.uniform(60, 600)))
            found += [walk, lie]
            t, way = lie.end, self._way(way[-1])
        return found

    def _lie(self, place: Point, heading: float, start: float, end: float) -> Stretch:
        ahead = 0.5 * self.shell_m
        return motion.on_spot(
            "nod",
            start,
            end,
            rear=(place[0] - ahead * cos(heading), place[1] - ahead * sin(heading)),
            heading=heading,
            shell_m=self.shell_m,
            drift=motion.Drift((start,), (0.0,), (0.0,)),
            cadence=1.0,
            rng=self.rng,
        )

    def _way(self, here: Point) -> list[Point]:
        """To another place behind her, now and then once around her."""
        there = self.behind()
        turn = _turn(here, self.centre, there)
        if self.rng.random() < 0.2:
            around = self._arc(here, there, turn + (2 * pi if self.rng.random() < 0.5 else -2 * pi))
            if all(self.layout.in_pen(place, margin=0.15) for place in around):
                return around
        return self._arc(here, there, turn)

    def _arc(self, here: Point, there: Point, turn: float) -> list[Point]:
        """From place to place around her, never nearer than the two bodies allow."""
        first, last = _apart(here, self.centre), _apart(there, self.centre)
        begin = atan2(here[1] - self.centre[1], here[0] - self.centre[0])
        steps = max(2, round(abs(turn) / 0.35))
        places = [here]
        for k in range(1, steps):
            far = max(first + k / steps * (last - first), self.nearest)
            angle = begin + k / steps * turn
            places.append((self.centre[0] + far * cos(angle), self.centre[1] + far * sin(angle)))
        return [*places, there]

    def _fits(self, place: Point) -> bool:
        return (
            self.layout.in_pen(place, margin=0.15)
            and self.layout.in_every_picture(place, margin=0.05)
            and _apart(place, self.centre) > self.nearest
        )


def is_clear(here: Point, there: Point, when: float, shell_m: float, others: Sequence[Actor]) -> bool:
    """Whether the straight way leads past every animal on its spot within an hour and a half of `when`."""
    return all(
        _from_line(event.body(actor.shell_m), here, there) > 0.55 * (actor.shell_m + shell_m)
        for actor in others
        for event in actor.events
        if event.start - 5400 < when < event.end + 5400 and event.kind != "pass"
    )


def collisions(actor: Actor, others: Sequence[Actor]) -> int:
    """How many times, looking every few seconds, it lies on another animal."""
    return sum(_met(actor, other) for other in others)


def _met(one: Actor, two: Actor) -> int:
    if not one.stretches or not two.stretches:
        return 0
    start = max(one.stretches[0].start, two.stretches[0].start)
    end = min(one.stretches[-1].end, two.stretches[-1].end)
    close = 0.5 * CLOSE * (one.shell_m + two.shell_m)
    count = 0
    for t in np.arange(start, end, STEP_S).tolist():
        a, b = one.pose(t), two.pose(t)
        count += a is not None and b is not None and hypot(a.x - b.x, a.y - b.y) < close
    return count


def grass_before(body: Point, shell_m: float, lens: Lens, rng: Generator) -> tuple[Plant, ...]:
    """Plants at the camera's side of a body, so that their blades hide part of it."""
    towards = lens.eye[:2] - body
    ahead = towards / np.linalg.norm(towards)
    aside = np.array([-ahead[1], ahead[0]])
    found = []
    for _ in range(int(rng.integers(2, 4))):
        at = body + shell_m * (float(rng.uniform(0.6, 1.0)) * ahead + float(rng.uniform(-0.6, 0.6)) * aside)
        tall = float(rng.uniform(0.1, 0.24))
        blades, seed = int(rng.integers(5, 11)), int(rng.integers(1 << 30))
        found.append(Plant((float(at[0]), float(at[1])), tall, 0.4 * tall, blades, seed))
    return tuple(found)


def _apart(a: Point, b: Point) -> float:
    return hypot(a[0] - b[0], a[1] - b[1])


def _turn(here: Point, centre: Point, there: Point) -> float:
    """The angle from one place to another as seen from `centre`, the shorter way round."""
    by = atan2(there[1] - centre[1], there[0] - centre[0]) - atan2(here[1] - centre[1], here[0] - centre[0])
    return (by + pi) % (2 * pi) - pi


def _from_line(place: Point, a: Point, b: Point) -> float:
    """Distance of a place from the stretch between two others."""
    x, y = b[0] - a[0], b[1] - a[1]
    square = x * x + y * y
    share = 0.0 if square == 0 else ((place[0] - a[0]) * x + (place[1] - a[1]) * y) / square
    share = min(max(share, 0.0), 1.0)
    return hypot(place[0] - a[0] - share * x, place[1] - a[1] - share * y)
