"""One animal's night, written event by event: where it goes, when, and how it moves there."""

from __future__ import annotations

from dataclasses import replace
from math import atan2, cos, hypot, pi, sin

from nestwatch.errors import ScenarioError
from nestwatch.synthetic import motion
from nestwatch.synthetic.cast import DIGS, Actor, Clock, Event, Generator, Stage
from nestwatch.synthetic.company import Attendance, first_dig, is_clear, place_beside, sides
from nestwatch.synthetic.layout import Layout, draw
from nestwatch.synthetic.motion import Stretch
from nestwatch.synthetic.scenario import AnimalPart, EventPart, Scenario

Point = tuple[float, float]
DAY_S = 86400.0


class Author:
    """Writes one animal's night, event by event. `others` are the animals told before."""

    def __init__(
        self,
        scenario: Scenario,
        layout: Layout,
        clock: Clock,
        rng: Generator,
        part: AnimalPart,
        others: tuple[Actor, ...],
    ) -> None:
        self.scenario, self.layout, self.clock, self.part, self.rng = scenario, layout, clock, part, rng
        self.others = others
        self.taken = [event.rear for actor in others for event in (*actor.earlier, *actor.events)]
        self.shell_m = draw(part.shell_cm, self.rng) / 100
        self.speed = draw(part.speed_cm_s, self.rng) / 100
        self.stretches: list[Stretch] = []
        self.free_at = 60.0
        self.at: Point | None = None
        self.heading: float | None = None
        self.looks = Actor(part.name, self.shell_m, 0.0, 0.0, 0, (), ())

    def actor(self) -> Actor:
        contrast, texture = draw(self.part.contrast, self.rng), draw(self.part.texture, self.rng)
        seed = int(self.rng.integers(1 << 30))
        looks = Actor(self.part.name, self.shell_m, contrast, texture, seed, (), ())
        earlier = tuple(self._done_before(part) for part in self.part.event if part.before)
        self.looks = replace(looks, earlier=earlier)
        events = tuple(self._event(part) for part in self.part.event if not part.before)
        self._go_home()
        return replace(self.looks, events=events, stretches=tuple(self.stretches))

    def _event(self, part: EventPart) -> Event:
        if part.follows is not None:
            return self._follow(part, part.follows)
        if part.over is not None:
            return self._pass_over(part, part.over)
        return self._stay_for(part)

    def _stay_for(self, part: EventPart) -> Event:
        rear, heading = self._place(part)
        self.taken.append(rear)
        begin = self.free_at + 60 * draw(part.after_min, self.rng)
        if part.at is not None:
            begin = max(begin, self.clock.draw(part.at, self.rng))
        wander = self._arrive(rear, heading, begin, 60 * draw(part.wander_min, self.rng))
        stages = self._stages(part, self.stretches[-1].end)
        event = self._record(part, stages, rear, heading, wander)
        self._stay(event, stages, part.limbs)
        return event

    def _record(
        self, part: EventPart, stages: tuple[Stage, ...], rear: Point, heading: float, wander: float
    ) -> Event:
        dug = part.kind in DIGS
        return Event(
            part.kind,
            stages[0].start,
            stages[-1].end,
            stages if dug else (),
            rear,
            heading,
            draw(part.cadence, self.rng),
            draw(part.throw, self.rng),
            draw(part.residual, self.rng) if dug else 0.0,
            wander,
            int(self.rng.integers(1 << 30)),
        )

    def _done_before(self, part: EventPart) -> Event:
        """A dig of the night before, about a day ago."""
        rear, heading = self._place(part)
        self.taken.append(rear)
        begin = -DAY_S * float(self.rng.uniform(0.75, 1.1))
        return self._record(part, self._stages(part, begin), rear, heading, begin)

    def _pass_over(self, part: EventPart, name: str) -> Event:
        """Walks right across a nest that is finished, or over the back of the animal that digs it."""
        actor, event = self._dig_of(name)
        goal = event.body(actor.shell_m) if part.while_digging else event.rear
        when = event.end + 60 * draw(part.after_min, self.rng)
        if part.while_digging:
            dig = next(stage for stage in event.stages if stage.stage == "dig")
            when = dig.start + (dig.end - dig.start) * float(self.rng.uniform(0.1, 0.9))
        here, there = sides(goal, 2.0 * actor.shell_m, self.layout, self.rng)
        self._come(here, when - hypot(goal[0] - here[0], goal[1] - here[1]) / self.speed)
        face = atan2(there[1] - here[1], there[0] - here[0])
        walk = motion.walk_along(
            (here, there),
            heading=self.stretches[-1].pose(self.free_at).heading,
            face=face,
            t=self.free_at,
            speed=self.speed,
            shell_m=self.shell_m,
            rng=self.rng,
        )
        climb = motion.Climb(walk, goal, 0.9 * actor.shell_m, 0.38 * actor.shell_m / self.shell_m)
        self.stretches.append(climb if part.while_digging else walk)
        rear = goal[0] - 0.5 * self.shell_m * cos(face), goal[1] - 0.5 * self.shell_m * sin(face)
        stage = Stage("rest", walk.start, walk.end)
        self.at, self.heading, self.free_at = there, face, walk.end
        return self._record(part, (stage,), rear, face, walk.start)

    def _follow(self, part: EventPart, name: str) -> Event:
        """Stays behind another animal for most of its stay."""
        actor, event = self._dig_of(name)
        attendance = Attendance(actor, event, self.shell_m, self.speed, self.layout, self.rng)
        first = attendance.behind()
        self._come(first, event.start + float(self.rng.uniform(0, 300)))
        end = self.free_at + float(self.rng.uniform(0.6, 0.95)) * (event.end - self.free_at)
        came = self.stretches[-1].pose(self.free_at).heading
        stretches = attendance.stretches(first, came, self.free_at, end)
        self.stretches += stretches
        last = stretches[-1].pose(stretches[-1].end)
        stage = Stage("rest", self.free_at, stretches[-1].end)
        heading = attendance.facing(first)
        rear = first[0] - 0.5 * self.shell_m * cos(heading), first[1] - 0.5 * self.shell_m * sin(heading)
        self.at, self.heading, self.free_at = (last.x, last.y), last.heading, stage.end
        return self._record(part, (stage,), rear, heading, stage.start)

    def _dig_of(self, name: str) -> tuple[Actor, Event]:
        """The first dig of an animal told before, or of its own on an earlier night."""
        return first_dig(name, (*self.others, self.looks), where=f"{self.scenario.name}: {self.part.name}")

    def _come(self, to: Point, when: float) -> None:
        """Walks from the water (or from where it is) to a place, there at `when` if that can be done."""
        start = self.layout.shore(to) if self.at is None else self.at
        took = self._walk(start, to, 0.0).end
        walk = self._walk(start, to, max(when - took, self.free_at))
        self.stretches.append(walk)
        self.free_at = walk.end

    def _place(self, part: EventPart) -> tuple[Point, float]:
        """Where the rear edge of its shell is to be, and where it heads."""
        if part.beside is None:
            return self._spot(part), float(self.rng.uniform(-pi, pi))
        actor, event = self._dig_of(part.beside)
        return place_beside(actor, event, self.shell_m, self.layout, self.rng)

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
        near = near if self.layout.in_nesting(near) and self._is_clear(goal, near, begin) else goal
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
                allowed=lambda here, there: self._allowed(there) and self._is_clear(here, there, begin),
                rng=self.rng,
            )
        )
        return walk.end

    def _walk(self, start: Point, goal: Point, t: float) -> motion.Walk:
        return motion.walk_to(
            start, goal, t=t, speed=self.speed, shell_m=self.shell_m, rng=self.rng, heading=self.heading
        )

    def _allowed(self, place: Point) -> bool:
        return self.layout.in_nesting(place) and self.layout.in_every_picture(place, margin=0.04)

    def _is_clear(self, here: Point, there: Point, when: float) -> bool:
        """Whether a way about that time leads past the animals it keeps apart from."""
        return not self.part.apart or is_clear(here, there, when, self.shell_m, self.others)

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

    def _stay(self, event: Event, stages: tuple[Stage, ...], limbs: float) -> None:
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
                        limbs=limbs,
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
