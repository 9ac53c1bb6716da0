"""The same night without any dig: what she would have dug becomes a rest, or she does not come."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from nestwatch.synthetic import motion
from nestwatch.synthetic.cast import Actor, Event, Generator
from nestwatch.synthetic.motion import Stretch

IN_WATER_S = 30.0
"""An animal out of sight for longer has been in the water."""
WITH_A_DIG = ("nest", "trial", "pass", "follow")


def without_digging(actor: Actor, *, rests: bool, rng: Generator) -> Actor:
    """The animal's night without a dig.

    With `rests` every dig becomes a rest at the same place and of the same length. Otherwise every outing
    (from water to water) with nothing but digs, passing and following in it is left out, and a dig that
    shares its outing with a rest becomes a rest. Digs of earlier nights stay.
    """
    if not rests:
        actor = _stays_home(actor)
    for event in actor.events:
        if event.dug:
            actor = _lies(actor, event, rng)
    return actor


def _stays_home(actor: Actor) -> Actor:
    """Without the outings that are there for a dig."""
    kept: list[Stretch] = []
    events: list[Event] = []
    for outing in _outings(actor.stretches):
        start, end = outing[0].start, outing[-1].end
        within = [event for event in actor.events if start <= event.start < end]
        if not all(event.kind in WITH_A_DIG for event in within) or _only_passes(within):
            kept += outing
            events += within
    return replace(actor, stretches=tuple(kept), events=tuple(events))


def _only_passes(events: list[Event]) -> bool:
    return all(event.kind == "pass" for event in events)


def _outings(stretches: tuple[Stretch, ...]) -> list[list[Stretch]]:
    """The stretches from water to water."""
    found = [[stretches[0]]] if stretches else []
    for before, after in pairwise(stretches):
        if after.start - before.end > IN_WATER_S:
            found.append([])
        found[-1].append(after)
    return found


def _lies(actor: Actor, event: Event, rng: Generator) -> Actor:
    """The dig turned into lying still on the same spot."""
    rest = motion.on_spot(
        "rest",
        event.start,
        event.end,
        rear=event.rear,
        heading=event.heading,
        shell_m=actor.shell_m,
        drift=motion.slow_drift(event.start, event.end, turn=0.03, shift=0.0, rng=rng),
        cadence=event.cadence,
        rng=rng,
    )
    outside = (s for s in actor.stretches if s.end <= event.start or s.start >= event.end)
    stretches = tuple(sorted((*outside, rest), key=lambda stretch: stretch.start))
    lying = replace(event, kind="rest", stages=(), throw=0.0, residual=0.0)
    return replace(
        actor, stretches=stretches, events=tuple(lying if one is event else one for one in actor.events)
    )
