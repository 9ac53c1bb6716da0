"""Pictures, clips and marking sheets, found by what the record names, never by a path in the request."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from threading import Lock
from typing import Literal

from flask import Blueprint, Response, abort, request

from nestwatch.desk.morning.pages import a_day
from nestwatch.desk.morning.room import Room
from nestwatch.season.night_view import night_of
from nestwatch.season.open import Record

_KINDS = {".jpg": "image/jpeg", ".mp4": "video/mp4"}
# The sheet is a whole page of our own with its style and pictures inside, and no scripts.
_SHEET_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)
drawing = Lock()
"""Sheets are drawn one at a time: the drawing library's settings are shared by all threads."""


def media_pages(room: Room) -> Blueprint:
    """What the pages show and link to."""
    pages = Blueprint("media", __name__)

    @pages.get("/dig/<int:number>/<any(before, during, after, overview):name>.jpg")
    def picture(number: int, name: str) -> Response:
        with room.opened() as record:
            dig = room.dig(record, number)
            return _file(room, record, dig.night, dig.pictures.get(name), ".jpg")

    @pages.get("/dig/<int:number>/clip.mp4")
    def clip(number: int) -> Response:
        with room.opened() as record:
            dig = room.dig(record, number)
            return _file(room, record, dig.night, dig.clip, ".mp4")

    @pages.get("/night/<day>/seen/<int:camera>.jpg")
    def seen(day: str, camera: int) -> Response:
        with room.opened() as record:
            night = night_of(record, a_day(day))
            if night is None or camera >= len(night.footage):
                abort(404)
            zone_seen = night.footage[camera].zone_seen or {}
            return _file(room, record, night.date, zone_seen.get("picture"), ".jpg")

    @pages.get("/night/<day>/marking.<any(pdf, html):kind>")
    def marking(day: str, kind: str) -> Response:
        with room.opened() as record:
            folder = room.folder(record, a_day(day))
        if folder is None:
            abort(404)
        with drawing:
            return _sheets(room, folder, kind, request.args.get("dig", type=int))

    return pages


def _file(room: Room, record: Record, night: date, name: str | None, ending: str) -> Response:
    """A file of a night's folder; 404 where it is not named, gone, outside the folder or of another kind."""
    folder = room.folder(record, night)
    path = None if folder is None or name is None else _inside(folder, name)
    if path is None or path.suffix != ending or not path.is_file():
        abort(404)
    # Read at once: an open file handed to the server would stay open where the desk ends while it is sent.
    content = path.read_bytes()
    response = Response(content, mimetype=_KINDS[ending])
    response.last_modified = datetime.fromtimestamp(path.stat().st_mtime, UTC)
    response.cache_control.no_cache = True
    response.add_etag()
    response.make_conditional(request, accept_ranges=True, complete_length=len(content))
    return response


def _inside(folder: Path, name: str) -> Path | None:
    """The file, None where the name leads out of the folder: a record may have come from anywhere."""
    base, path = folder.resolve(), (folder / name).resolve()
    return path if path.is_relative_to(base) else None


def _sheets(room: Room, folder: Path, kind: str, rank: int | None) -> Response:
    """The marking sheets of a night's digs (or of one), made anew from the night file; nothing is written."""
    from nestwatch.report.marking import chosen_digs, make_marking, read_night

    document = read_night(folder)
    digs = chosen_digs(document, () if rank is None else (rank,), rests=False)
    if not digs:
        abort(404, "The scan found no likely dig in this night, so there is no sheet.")
    paper: Literal["a4", "letter"] = "letter" if room.site.units == "imperial" else "a4"
    made = make_marking(room.site, document, digs, folder, paper=paper)
    if kind == "pdf":
        name = f'inline; filename="marking-{document["night"]}.pdf"'
        return Response(made.pdf(), mimetype="application/pdf", headers={"Content-Disposition": name})
    return Response(made.page(), mimetype="text/html", headers={"Content-Security-Policy": _SHEET_POLICY})
