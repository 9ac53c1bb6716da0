"""What happens in an invented night: who goes where, when, and what they do. Drawn once from the seed."""

from __future__ import annotations

import zlib
from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from math import cos, hypot, pi, sin
from zoneinfo import ZoneInfo

import numpy as np

from nestwatch.errors import ScenarioError
from nestwatch.synthetic import motion
from nestwatch.synthetic.gait import Pose
from nestwatch.synthetic.layout import Layout, draw, make_layout
from nestwatch.synthetic.motion import Stretch
from nestwatch.synthetic.scenario import AnimalPart, ClockSpan, EventPart, NightPart, Scenario

Point = tuple[float, float]
Generator = np.random.Generator


@dataclass(frozen=True, slots=True)
class Clock:
    """Ties seconds since the night's start to instants (aware UTC) and to the wall."""

    evening: date
    start: datetime
    seconds: float
    zone: ZoneInfo

    def instant(self, t: float) -> datetime:
        return self.start + timedelta(seconds=t)

    def wall(self, t: float) -> datetime:
        """Local time with offset."""
        return self.instant(t).astimezone(self.zone)

    def offset(self, wall: time) -> float:
        """Seconds since the start of a wall time; before noon it is the next morning's."""
        evening = self.evening
        day = evening if wall.hour >= 12 else evening + timedelta(days=1)
        return (datetime.combine(day, wall, self.zone).astimezone(UTC) - self.start).total_seconds()

    def draw(self, span: ClockSpan, rng: Generator) -> float:
        """An even draw between two wall times, seconds since the start."""
        low, high = self.offset(span[0]), self.offset(span[1])
        if low > high:
            raise ScenarioError(
                f"{span[0]:%H:%M} to {span[1]:%H:%M} runs backwards; before noon is the next morning."
            )
        return float(rng.uniform(low, high))


@dataclass(frozen=True, slots=True)
class Stage:
    """Half open [start, end) in seconds since the night's start."""

    stage: str
    start: float
    end: float


@dataclass(frozen=True, slots=True)
class Event:
    """One stay with its truth. `chamber`: under the rear edge of the shell, metres; None for a pass.
    `wander`: when she began to look about. `cadence`: strokes per minute (either foot)."""

    kind: str
    start: float
    end: float
    stages: tuple[Stage, ...]
    rear: Point
    heading: float
    cadence: float
    throw: float
    residual: float
    wander: float
    seed: int

    def body(self, shell_m: float) -> Point:
        """Below the shell's centre."""
        return self.rear[0] + 0.5 * shell_m * cos(self.heading), self.rear[1] + 0.5 * shell_m * sin(
            self.heading
        )


@dataclass(frozen=True, slots=True)
class Actor:
    """One animal: its looks, its events, and its stretches in order (between them it is out of sight)."""

    name: str
    shell_m: float
    contrast: float
    texture: float
    seed: int
    events: tuple[Event, ...]
    stretches: tuple[Stretch, ...]
    starts: tuple[float, ...]

    def pose(self, t: float) -> Pose | None:
        """Where and how it is at `t`, None while under water."""
        i = bisect_right(self.starts, t) - 1
        return self.stretches[i].pose(t) if i >= 0 and t < self.stretches[i].end else None


@dataclass(frozen=True, slots=True)
class Story:
    """A whole invented night."""

    scenario: Scenario
    seed: int
    clock: Clock
    layout: Layout
    actors: tuple[Actor, ...]


def stream(seed: int, name: str) -> Generator:
    """An independent generator for one purpose, so that a new nuisance does not move the animals."""
    return np.random.default_rng([seed, zlib.crc32(name.encode())])


def make_clock(night: NightPart) -> Clock:
    """The night's span as instants; `to` not later than `from` means the next morning."""
    zone = ZoneInfo(night.timezone)
    start = datetime.combine(night.date, night.start, zone).astimezone(UTC)
    last = night.date if night.end > night.start else night.date + timedelta(days=1)
    end = datetime.combine(last, night.end, zone).astimezone(UTC)
    return Clock(night.date, start, (end - start).total_seconds(), zone)


def make_story(scenario: Scenario, seed: int) -> Story:
    """Draws the pen and every animal's night."""
    layout = make_layout(scenario, stream(seed, "layout"))
    clock = make_clock(scenario.night)
    taken: list[Point] = []
    actors = tuple(_Author(scenario, layout, clock, seed, part, taken).actor() for part in scenario.animal)
    return Story(scenario, seed, clock, layout, actors)


class _Author:
    """Writes one animal's night, event by event."""

    def __init__(
        self,
        scenario: Scenario,
        layout: Layout,
        clock: Clock,
        seed: int,
        part: AnimalPart,
        taken: list[Point],
    ) -> None:
        self.scenario, self.layout, self.clock, self.part, self.taken = scenario, layout, clock, part, taken
        self.rng = stream(seed, f"animal {part.name}")
        self.shell_m = draw(part.shell_cm, self.rng) / 100
        self.speed = draw(part.speed_cm_s, self.rng) / 100
        self.stretches: list[Stretch] = []
        self.free_at = 60.0
        self.at: Point | None = None
        self.heading: float | None = None

    def actor(self) -> Actor:
        contrast, texture = draw(self.part.contrast, self.rng), draw(self.part.texture, self.rng)
        seed = int(self.rng.integers(1 << 30))
        events = tuple(self._event(part) for part in self.part.event)
        self._go_home()
        kept = tuple(self.stretches)
        starts = tuple(stretch.start for stretch in kept)
        return Actor(self.part.name, self.shell_m, contrast, texture, seed, events, kept, starts)

    def _event(self, part: EventPart) -> Event:
        rear = self._spot(part)
        self.taken.append(rear)
        heading = float(self.rng.uniform(-pi, pi))
        begin = self.free_at + 60 * draw(part.after_min, self.rng)
        if part.at is not None:
            begin = max(begin, self.clock.draw(part.at, self.rng))
        wander = self._arrive(rear, heading, begin, 60 * draw(part.wander_min, self.rng))
        start = self.stretches[-1].end
        stages = self._stages(part, start)
        event = Event(
            part.kind,
            start,
            stages[-1].end,
            stages if part.kind in ("nest", "trial") else (),
            rear,
            heading,
            draw(part.cadence, self.rng),
            draw(part.throw, self.rng),
            draw(part.residual, self.rng) if part.kind in ("nest", "trial") else 0.0,
            wander,
            int(self.rng.integers(1 << 30)),
        )
        self._stay(event, stages)
        return event

    def _spot(self, part: EventPart) -> Point:
        """A place in the nesting zone that every camera sees, apart from the other spots."""
        if part.near is not None:
            return part.near
        (x0, y0), _, (x1, y1), _ = self.layout.nesting
        for attempt in range(2000):
            place = (float(self.rng.uniform(x0, x1)), float(self.rng.uniform(y0, y1)))
            apart = 4.0 * self.shell_m * (1 - attempt / 2500)
            if (
                self.layout.in_nesting(place, margin=0.3)
                and self.layout.in_every_picture(place)
                and all(hypot(place[0] - x, place[1] - y) > apart for x, y in self.taken)
            ):
                return place
        raise ScenarioError(
            f"{self.scenario.name}: no free spot in the nesting zone for {self.part.name}; "
            "use a larger pen, or fewer events."
        )

    def _arrive(self, rear: Point, heading: float, begin: float, wander_s: float) -> float:
        """Comes to the spot and looks about; gives when the looking about began. Sets the last stretch."""
        goal = (rear[0] + 0.5 * self.shell_m * cos(heading), rear[1] + 0.5 * self.shell_m * sin(heading))
        if self.at is not None and begin - self.free_at > 2400 + wander_s:
            self._go_home()
        from_water = self.at is None
        start = self.layout.shore(goal) if self.at is None else self.at
        near = (goal[0] + float(self.rng.normal(0, 0.25)), goal[1] + float(self.rng.normal(0, 0.25)))
        near = near if self.layout.in_nesting(near) else goal
        leave = self.free_at
        walk = self._walk(start, near, leave)
        if from_water:
            leave = max(begin - wander_s - (walk.end - walk.start), self.free_at)
            walk = self._walk(start, near, leave)
        self.stretches.append(walk)
        until = max(begin, walk.end + 60)
        self.stretches.append(
            motion.wander(
                (walk.knots[-1][1], walk.knots[-1][2]),
                goal,
                heading=heading,
                begin=walk.end,
                until=until,
                speed=self.speed,
                shell_m=self.shell_m,
                allowed=self._allowed,
                rng=self.rng,
            )
        )
        return walk.end

    def _walk(self, start: Point, goal: Point, t: float) -> motion.Walk:
        return motion.walk_to(
            start, goal, t=t, speed=self.speed, shell_m=self.shell_m, rng=self.rng, heading=self.heading
        )

    @property
    def _allowed(self) -> Callable[[Point], bool]:
        return lambda place: (
            self.layout.in_nesting(place) and self.layout.in_every_picture(place, margin=0.04)
        )

    def _stages(self, part: EventPart, start: float) -> tuple[Stage, ...]:
        """The stages in order, without gaps; for a rest or a pass one stretch of that name."""
        dug = [("search", part.search_min), ("dig", part.dig_min)]
        plan = {
            "nest": [*dug, ("lay", part.lay_min), ("cover", part.cover_min)],
            "trial": dug,
            "rest": [("rest", part.rest_min)],
            "pass": [("rest", (0.1, 1.0))],
        }[part.kind]
        found, t = [], start
        for name, minutes in plan:
            end = t + 60 * draw(minutes, self.rng)
            found.append(Stage(name, t, end))
            t = end
        return tuple(found)

    def _stay(self, event: Event, stages: tuple[Stage, ...]) -> None:
        still = event.kind in ("rest", "pass")
        drift = motion.slow_drift(
            event.start, event.end, turn=0.03 if still else 0.12, shift=0.0 if still else 0.12, rng=self.rng
        )
        for stage in stages:
            for manner, start, end in _manners(stage):
                self.stretches.append(
                    motion.on_spot(
                        manner,
                        start,
                        end,
                        rear=event.rear,
                        heading=event.heading,
                        shell_m=self.shell_m,
                        drift=drift,
                        cadence=event.cadence,
                        rng=self.rng,
                    )
                )
        last = self.stretches[-1].pose(event.end)
        self.at, self.heading, self.free_at = (last.x, last.y), last.heading, event.end

    def _go_home(self) -> None:
        """Walks back to the pond and under."""
        if self.at is None:
            return
        walk = self._walk(self.at, self.layout.shore(self.at), self.free_at)
        self.stretches.append(walk)
        self.free_at, self.at, self.heading = walk.end + 60, None, None


def _manners(stage: Stage) -> list[tuple[str, float, float]]:
    """How she moves during a stage: covering ends with pressing the soil down."""
    if stage.stage != "cover":
        return [(stage.stage, stage.start, stage.end)]
    turn = stage.start + 0.75 * (stage.end - stage.start)
    return [("cover", stage.start, turn), ("pack", turn, stage.end)]
