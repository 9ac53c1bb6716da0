"""From a dig of the night file to its place on the plan, and the words that lead a keeper there."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from nestwatch.errors import NestwatchError
from nestwatch.report.marking.lengths import radius, taped
from nestwatch.report.marking.records import Line, Where
from nestwatch.site.marks import FEWEST_MARKS
from nestwatch.site.plan import PlanMap, plan_map
from nestwatch.site.records import Camera, Pen, Point, Site, Units
from nestwatch.site.stake import Arcs, FromWall, best_arcs, from_wall

_SAME_M = 0.005  # the night file rounds tape distances to millimetres
_MOVED_M = (
    0.15  # less than what the height of a body moves a place by, marks moved for the better move it more
)
_FLAT_DEG = 30.0


def camera_of(site: Site, dig: Mapping[str, Any]) -> Camera:
    """The dig's camera in the site file; `NestwatchError` where it is no longer there."""
    found = next((camera for camera in site.cameras if camera.name == dig["camera"]), None)
    if found is None:
        raise NestwatchError(
            f'{site.path}: has no camera "{dig["camera"]}", which saw dig {dig["rank"]}; was it renamed? '
            "Watch the night again with nestwatch night."
        )
    return found


def place_of(site: Site, dig: Mapping[str, Any]) -> Where | None:
    """The dig on the plan; None where the night file has no place for it.

    Raises `NestwatchError` where posts or marks were changed after the night was watched: its distances would
    then be wrong.
    """
    camera = camera_of(site, dig)
    pen = site.pen_of(camera)
    if dig["plan_m"] is None or pen is None:
        return None
    place = (float(dig["plan_m"][0]), float(dig["plan_m"][1]))
    plan = plan_map(site, camera)
    if plan is None or _outdated(dig, pen, plan, place):
        raise NestwatchError(
            f'{site.path}: posts or marks of camera "{camera.name}" were changed after this night was '
            "watched; watch it again with nestwatch night, then the places are right."
        )
    return Where(
        pen=pen,
        place=place,
        within_m=dig["within_m"],
        arcs=best_arcs(pen.posts, place),
        wall=from_wall(pen, place),
        camera=None if plan.eye is None else plan.eye[:2],
        outlines=tuple(_on_plan(plan, zone.outline) for zone in camera.zones_of("nesting")),
    )


def _outdated(dig: Mapping[str, Any], pen: Pen, plan: PlanMap, place: Point) -> bool:
    at = {post.name: post.at for post in pen.posts}
    taped_then = [(each["post"], each["m"]) for each in dig["tape"]]
    if any(post not in at or abs(math.dist(at[post], place) - far) > _SAME_M for post, far in taped_then):
        return True
    x, y = plan.to_plan([dig["pixel"]])[0]
    return not math.dist((x, y), place) <= max(_MOVED_M, dig["within_m"] or 0.0)


def _on_plan(plan: PlanMap, outline: tuple[Point, ...]) -> tuple[Point, ...]:
    places = plan.to_plan(outline)
    return tuple((float(x), float(y)) for x, y in places[np.isfinite(places).all(axis=1)])


def why_no_distance(site: Site, dig: Mapping[str, Any]) -> str:
    """Why the sheet has pictures only."""
    camera = camera_of(site, dig)
    if site.pen_of(camera) is None:
        why = "the site file has no pen for this camera"
    elif len(camera.marks) < FEWEST_MARKS:
        why = f"this camera has {len(camera.marks) or 'no'} marks, and {FEWEST_MARKS} or more are needed"
    else:
        why = "by this camera's marks the place lies at or beyond the horizon"
    return f"No distance can be given: {why}. Find the spot by the pictures."


def tape_lines(arcs: Arcs | None, units: Units) -> tuple[Line, ...]:
    """The two distances to tape, empty with fewer than two posts."""
    if arcs is None:
        return ()
    ends = ((arcs.first, arcs.first_m), (arcs.second, arcs.second_m))
    return tuple(Line(taped(far, units), f"from {post}") for post, far in ends)


def side_words(arcs: Arcs | None) -> str:
    """On which side the arcs cross, and whether they cross well."""
    if arcs is None:
        return ""
    if arcs.side == "between":
        return f"The place lies on the straight line through {arcs.first} and {arcs.second}."
    flat = " They cross at a flat angle: hold the tape tight." if arcs.crossing_deg < _FLAT_DEG else ""
    return (
        f"Stand at {arcs.first}, look to {arcs.second}: the two tapes meet on your {arcs.side.upper()}.{flat}"
    )


def wall_words(wall: FromWall, units: Units) -> str:
    """The same place along and out from the nearest wall."""
    start, end = corner_names(wall)
    into = "out from the wall into the pen" if wall.out_m >= 0 else "beyond the wall, OUTSIDE the pen"
    along, out = taped(wall.along_m, units), taped(abs(wall.out_m), units)
    doubt = "" if wall.out_m >= 0 else ": the outline of the pen or the marks are doubtful"
    return f"From {start} go {along} along the wall towards {end}, then {out} straight {into}{doubt}."


def corner_names(wall: FromWall) -> tuple[str, str]:
    """What the ends of a wall are called: the post there, else a letter that the plan shows."""
    return (
        wall.start_post or "corner A of the plan",
        wall.end_post or "corner B of the plan",
    )


def near_words(within_m: float | None, units: Units) -> str:
    """How near the spot the eggs should lie."""
    if within_m is None:
        return "How near to the spot the eggs lie is not known."
    return f"9 times in 10 the eggs lie within {radius(within_m, units)} of that spot."
