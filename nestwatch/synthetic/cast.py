"""The words of an invented night: its clock, who takes part, and what each does when. Plain records."""

from __future__ import annotations

import zlib
from bisect import bisect_right
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from math import cos, sin
from zoneinfo import ZoneInfo

import numpy as np

from nestwatch.errors import ScenarioError
from nestwatch.synthetic.gait import Pose
from nestwatch.synthetic.motion import Stretch
from nestwatch.synthetic.scenario import ClockSpan, NightPart

Point = tuple[float, float]
Generator = np.random.Generator
DIGS = ("nest", "trial")


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
    """One stay with its truth. `rear`: under the rear edge of the shell, metres: the chamber of a dig.
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

    @property
    def dug(self) -> bool:
        """Whether a turtle dug here."""
        return self.kind in DIGS

    def body(self, shell_m: float) -> Point:
        """Below the shell's centre; a raider stands behind its hole, not before it."""
        ahead = -0.5 * shell_m if self.kind == "raid" else 0.5 * shell_m
        return self.rear[0] + ahead * cos(self.heading), self.rear[1] + ahead * sin(self.heading)


@dataclass(frozen=True, slots=True)
class Actor:
    """One animal: its looks, its events, and its stretches in order (between them it is out of sight).
    `earlier`: digs of nights before, of which only the ground tells."""

    name: str
    shell_m: float
    contrast: float
    texture: float
    seed: int
    events: tuple[Event, ...]
    stretches: tuple[Stretch, ...]
    earlier: tuple[Event, ...] = ()

    def pose(self, t: float) -> Pose | None:
        """Where and how it is at `t`, None while under water."""
        i = bisect_right(self.stretches, t, key=lambda stretch: stretch.start) - 1
        return self.stretches[i].pose(t) if i >= 0 and t < self.stretches[i].end else None


def stream(seed: int, name: str) -> Generator:
    """An independent generator for one purpose, so that a new nuisance does not move the animals."""
    return np.random.default_rng([seed, zlib.crc32(name.encode())])


def make_clock(night: NightPart) -> Clock:
    """The night's span as instants. Before noon is the next morning, and so is a `to` not after `from`."""
    zone = ZoneInfo(night.timezone)
    first = night.date if night.start.hour >= 12 else night.date + timedelta(days=1)
    start = datetime.combine(first, night.start, zone).astimezone(UTC)
    last = first if night.end > night.start else first + timedelta(days=1)
    end = datetime.combine(last, night.end, zone).astimezone(UTC)
    return Clock(night.date, start, (end - start).total_seconds(), zone)
