"""What happens in an invented night: who goes where, when, and what they do. Drawn once from the seed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta

from nestwatch.synthetic.author import Author
from nestwatch.synthetic.cast import Actor, Clock, Event, Generator, Stage, make_clock, stream
from nestwatch.synthetic.company import collisions, first_dig, grass_before
from nestwatch.synthetic.layout import Layout, draw, make_layout
from nestwatch.synthetic.scenario import AnimalPart, Scenario, choose
from nestwatch.synthetic.twin import without_digging

__all__ = ["Actor", "Clock", "Event", "Generator", "Stage", "Story", "make_clock", "make_story", "stream"]

SERIES = 1_000_003
"""Larger than any seed that is asked for."""
ATTEMPTS = 30
"""How often an animal that keeps apart is drawn anew before the best of the draws is taken."""


@dataclass(frozen=True, slots=True)
class Story:
    """A whole invented night. `scenario` has its variant applied, whose number is `variant` (None: it has
    none). `asked` is the seed asked for, `seed` what every draw starts from: the two differ by the scenario's
    series. `clock_ahead`: seconds by camera."""

    scenario: Scenario
    asked: int
    seed: int
    clock: Clock
    layout: Layout
    actors: tuple[Actor, ...]
    variant: int | None
    clock_ahead: dict[str, float]

    def clock_of(self, camera: str) -> Clock:
        """The clock as this camera shows it."""
        return replace(self.clock, start=self.clock.start + timedelta(seconds=self.clock_ahead[camera]))


def make_story(scenario: Scenario, asked: int) -> Story:
    """Draws the pen and every animal's night from the seed `asked` for, which also chooses the variant."""
    variant = asked % len(scenario.variant) if scenario.variant else None
    scenario = choose(scenario, asked)
    seed = asked + SERIES * scenario.series
    layout = make_layout(scenario, stream(seed, "layout"))
    clock = make_clock(scenario.night)
    actors: tuple[Actor, ...] = ()
    for part in scenario.animal:
        actors = (*actors, _told(scenario, layout, clock, seed, part, actors))
    layout = _grown(scenario, layout, seed, actors)
    if not scenario.digging:
        actors = tuple(
            without_digging(actor, rests=asked % 2 == 1, rng=stream(seed, f"twin {actor.name}"))
            for actor in actors
        )
    layout = replace(layout, nests=_nests(actors))
    return Story(scenario, asked, seed, clock, layout, actors, variant, _clocks(scenario, seed))


def _told(
    scenario: Scenario,
    layout: Layout,
    clock: Clock,
    seed: int,
    part: AnimalPart,
    others: tuple[Actor, ...],
) -> Actor:
    """One animal's night; one that keeps apart is drawn until it meets nobody, or as rarely as can be."""
    found: list[tuple[int, Actor]] = []
    for attempt in range(ATTEMPTS if part.apart else 1):
        rng = stream(seed, f"animal {part.name}{f' {attempt}' if attempt else ''}")
        actor = Author(scenario, layout, clock, rng, part, others).actor()
        found.append((collisions(actor, others) if part.apart else 0, actor))
        if found[-1][0] == 0:
            break
    return min(found, key=lambda one: one[0])[1]


def _grown(scenario: Scenario, layout: Layout, seed: int, actors: tuple[Actor, ...]) -> Layout:
    """The pen with the grass that stands before an animal's dig."""
    name = scenario.pen.plants_over
    if name is None:
        return layout
    actor, event = first_dig(name, actors, where=f"{scenario.name}: pen.plants_over")
    lens = next(iter(layout.lenses.values()))
    screen = grass_before(event.body(actor.shell_m), actor.shell_m, lens, stream(seed, "plants over"))
    return replace(layout, screen=screen)


def _nests(actors: tuple[Actor, ...]) -> dict[str, tuple[float, float, float]]:
    """Where each animal's nest lies, metres, and when it is finished, seconds since the start."""
    return {
        actor.name: (*event.rear, event.end)
        for actor in actors
        for event in actor.events
        if event.kind == "nest"
    }


def _clocks(scenario: Scenario, seed: int) -> dict[str, float]:
    return {
        part.name: round(draw(part.clock_ahead_s, stream(seed, f"clock {part.name}")))
        for part in scenario.camera
    }
