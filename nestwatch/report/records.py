"""What the report is made from: one camera's finished night, and a dig with its place and pictures.

Paths of pictures and clips are relative to the night's folder, with forward slashes. Places on the plan are
`(x, y)` metres. Instants are aware UTC datetimes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from nestwatch.footage.records import Account
from nestwatch.ground.health_records import Finding
from nestwatch.nesting.activity import Activity
from nestwatch.nesting.records import Dig, Visitor
from nestwatch.site.records import Point

PICTURE_NAMES = ("before", "during", "after", "overview")


@dataclass(frozen=True, slots=True)
class PlacedDig:
    """A dig as the keeper is told of it.

    `cameras` names every camera that saw it, the best view first. `plan_m` is the egg chamber on the pen's
    plan and `within_m` the radius that holds it in 90 % of cases; both None where the camera has no marks.
    `shell_length_cm` is None where the outline or the scale is unknown. `pictures` maps each of
    `PICTURE_NAMES` to a path, None where no frame could be had; `clip` likewise.
    """

    dig: Dig
    cameras: tuple[str, ...]
    plan_m: Point | None
    within_m: float | None
    shell_length_cm: float | None
    pictures: Mapping[str, str | None]
    clip: str | None


@dataclass(frozen=True, slots=True)
class SeenVisitor:
    """A visitor and the path of its picture, None where no frame could be had."""

    visitor: Visitor
    picture: str | None


@dataclass(frozen=True, slots=True)
class ZoneSeen:
    """How much of the nesting zone was judged in nesting hours.

    `minutes`: of `of_minutes`, the nesting hours; a minute in which half of the zone could be judged counts
    half. `picture`: path of the zone hatched where it could not be judged, None where no frame could be had.
    """

    minutes: float
    of_minutes: float
    picture: str | None


@dataclass(frozen=True, slots=True)
class CameraNight:
    """All that one camera's night came to.

    `looked_min`: minutes inside nesting hours in which the pictures were clear enough to judge; None where
    that was not measured. It is never more than what `account` says was read. `activity`: movement in the
    nesting zones through the night, by which cameras' clocks are compared; None with hardly a frame.
    `health`: what was wrong with its picture, by time. `zone_seen` is None where that was not measured.
    """

    account: Account
    digs: tuple[PlacedDig, ...]
    visitors: tuple[SeenVisitor, ...]
    looked_min: float | None
    activity: Activity | None = None
    health: tuple[Finding, ...] = ()
    zone_seen: ZoneSeen | None = None
