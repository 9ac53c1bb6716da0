"""A night's footage as a strip of stills, to add a dig that the tool missed."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from flask import Blueprint, Response, abort, jsonify, render_template, request
from flask.typing import ResponseReturnValue

from nestwatch.desk.morning.pages import a_day
from nestwatch.desk.morning.room import Room
from nestwatch.desk.morning.wording import Wording
from nestwatch.desk.stills import NightStrip, Stills
from nestwatch.errors import PageError
from nestwatch.season.digs import digs_of
from nestwatch.site.hours import night_hours

THUMB_PX = 240
STILL_PX = 1280


def scrub_pages(room: Room) -> Blueprint:
    """The page for adding a dig, and the stills it shows."""
    pages = Blueprint("scrub", __name__)
    stills = Stills(room.site)

    @pages.get("/night/<day>/add")
    def add(day: str) -> str:
        night = a_day(day)
        with room.opened() as record:
            known = digs_of(record, night)
        say = Wording(room.site, room.clock())
        return render_template(
            "morning/add.html.j2",
            site=room.site,
            day=night,
            say=say,
            known=known,
            last_entry=None,
            hours=night_hours(room.site, night),
        )

    @pages.get("/api/night/<day>/camera/<int:camera>/strip")
    def strip(day: str, camera: int) -> Response:
        _require(room, camera)
        return jsonify(_strip_json(stills.strip(camera, a_day(day))))

    @pages.get("/api/night/<day>/camera/<int:camera>/still")
    def still(day: str, camera: int) -> ResponseReturnValue:
        _require(room, camera)
        width = THUMB_PX if request.args.get("small") == "1" else STILL_PX
        jpeg = stills.still(camera, a_day(day), _instant(), width=width)
        if jpeg is None:
            return jsonify(why="Nothing was recorded then; move to a time with a bar above it."), 404
        return Response(jpeg, mimetype="image/jpeg")

    return pages


def _require(room: Room, camera: int) -> None:
    if camera >= len(room.site.cameras):
        abort(404)


def _strip_json(strip: NightStrip) -> dict[str, Any]:
    """Ends, nesting hours and recorded stretches, in seconds since 1970."""
    hours = strip.hours
    return {
        "from": hours.start.timestamp(),
        "to": hours.end.timestamp(),
        "nesting": [at.timestamp() for at in hours.nesting],
        "recorded": [[start.timestamp(), end.timestamp()] for start, end in strip.recorded],
    }


def _instant() -> datetime:
    """`at` in seconds since 1970."""
    try:
        return datetime.fromtimestamp(float(request.args.get("at", "")), UTC)
    except (ValueError, OverflowError, OSError):
        raise PageError("the time is not readable; load the page again.") from None
