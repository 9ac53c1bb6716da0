"""What the search answered and what happened, read from a night file and a truth file for scoring. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import inf
from typing import Any

Point = tuple[float, float]
Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class TrueEvent:
    """One thing an animal did. `span` and `stages`: POSIX seconds. `chamber_m`: metres on the plan or None.
    `chamber_px`, `shell_px`: per camera that saw it, pixels of the picture and shell length in them.
    `hidden`: when nothing was recorded, in order; an edge inside cannot be timed."""

    kind: str
    span: Span
    stages: Mapping[str, Span]
    chamber_m: Point | None
    chamber_px: Mapping[str, Point]
    shell_px: Mapping[str, float]
    hidden: tuple[Span, ...] = ()

    @property
    def seen(self) -> Span:
        """The span without what of its ends was not recorded; the whole span where all of it was not."""
        start = max(
            (last for first, last in self.hidden if first <= self.span[0] < last), default=self.span[0]
        )
        end = min(
            (first for first, last in self.hidden if first < self.span[1] <= last), default=self.span[1]
        )
        return (start, end) if start < end else self.span


@dataclass(frozen=True, slots=True)
class Found:
    """One entry of a night file's `digs`. Units as in `TrueEvent`; `within_m` None where there is no plan."""

    rank: int
    camera: str
    call: str
    span: Span
    stages: Mapping[str, Span]
    pixel: Point | None
    plan_m: Point | None
    within_m: float | None


def _seconds(text: str) -> float:
    instant = datetime.fromisoformat(text)
    if instant.tzinfo is None:
        raise ValueError(f"the time {text!r} has no offset; truth and night files need one")
    return instant.timestamp()


def span_of(entry: Mapping[str, Any]) -> Span:
    """`from` and `to` of an entry of either file, POSIX seconds; ValueError for a time without an offset."""
    return _seconds(entry["from"]), _seconds(entry["to"])


def _stages(entry: Mapping[str, Any]) -> dict[str, Span]:
    """Stages by name. One that comes twice (dug, paused, dug) runs from its first start to its last end."""
    out: dict[str, Span] = {}
    for stage in entry.get("stages") or ():
        start, end = span_of(stage)
        first, last = out.get(stage["stage"], (start, end))
        out[stage["stage"]] = min(first, start), max(last, end)
    return out


def _point(value: Sequence[float] | None) -> Point | None:
    return None if value is None else (float(value[0]), float(value[1]))


def read_truth(truth: Mapping[str, Any]) -> tuple[TrueEvent, ...]:
    """The stays of a truth file's dictionary in order of time: nests, trials, rests, raids, and animals that
    follow or sit. Passers-by are left out.

    Where an event has no chamber (a rest), the body's centre stands for it. KeyError or ValueError where
    the dictionary is not a truth file.
    """
    hidden = _hidden(truth)
    events = [_true_event(event, hidden) for animal in truth["animals"] for event in animal["events"]]
    return tuple(sorted((event for event in events if event.kind != "pass"), key=lambda event: event.span))


def _hidden(truth: Mapping[str, Any]) -> tuple[Span, ...]:
    """When nothing was recorded: before, after, and in the gaps."""
    spans = [span_of(gap) for gap in truth.get("gaps", ())]
    if "from" in truth:
        start, end = span_of(truth)
        spans += [(-inf, start), (end, inf)]
    return tuple(sorted(spans))


def _true_event(event: Mapping[str, Any], hidden: tuple[Span, ...]) -> TrueEvent:
    seen = event["per_camera"]
    places = {camera: _point(at.get("chamber_px") or at["body_px"]) for camera, at in seen.items()}
    return TrueEvent(
        kind=event["kind"],
        span=span_of(event),
        stages=_stages(event),
        chamber_m=_point(event.get("chamber_m")),
        chamber_px={camera: place for camera, place in places.items() if place},
        shell_px={camera: float(at["shell_px"]) for camera, at in seen.items()},
        hidden=hidden,
    )


def read_found(night: Mapping[str, Any]) -> tuple[Found, ...]:
    """The entries of a night file's dictionary, in order of rank."""
    entries = [
        Found(
            rank=int(dig["rank"]),
            camera=dig["camera"],
            call=dig["call"],
            span=span_of(dig),
            stages=_stages(dig),
            pixel=_point(dig["pixel"]),
            plan_m=_point(dig["plan_m"]),
            within_m=dig["within_m"],
        )
        for dig in night["digs"]
    ]
    return tuple(sorted(entries, key=lambda entry: entry.rank))
