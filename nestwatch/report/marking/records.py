"""What one marking sheet says, before it is set on paper or on a phone's page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from nestwatch.site.records import Pen, Point, Zone
from nestwatch.site.stake import Arcs, FromWall

Paper = Literal["a4", "letter"]

PAPERS: dict[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""(width, height) in millimetres: ISO 216, and 8.5 by 11 inches of 25.4 mm."""


@dataclass(frozen=True, slots=True)
class Where:
    """The place on the plan and how a tape finds it. `place`: metres. `within_m`: 90 % radius, None where it
    is not known. `arcs`: None with fewer than two posts. `camera`: where the camera stands, None where the
    marks do not tell. `outlines`: the camera's nesting zones on the plan, metres; corners beyond the horizon
    left out."""

    pen: Pen
    place: Point
    within_m: float | None
    arcs: Arcs | None
    wall: FromWall
    camera: Point | None
    outlines: tuple[tuple[Point, ...], ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph of the sheet: `jpeg` is None where it is missing, `why` then says so."""

    name: Literal["overview", "during", "after"]
    title: str
    jpeg: bytes | None
    why: str


@dataclass(frozen=True, slots=True)
class Line:
    """One thing the tape has to show: `length` in the keeper's units, from `start` by way of `how`."""

    length: str
    how: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """One dig's sheet. `where` is None where no distance can be given; `no_distance` then says why.

    `tape`: the two tape distances, empty without `where`. `side`, `wall`, `near`: sentences that go with
    them, "" without. `laid`: sentences on laying and lifting. `hours`: (clock, hours since laying began) for
    the morning.
    """

    rank: int
    of: int
    title: str
    sure: str
    facts: tuple[str, ...]
    where: Where | None
    no_distance: str
    tape: tuple[Line, ...]
    side: str
    wall: str
    near: str
    laid: tuple[str, ...]
    hours: tuple[tuple[str, str], ...]
    pictures: tuple[Picture, ...]
    zones: tuple[Zone, ...]
