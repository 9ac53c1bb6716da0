"""The drawing page: zones and marks of a site's cameras, drawn on stills and saved into the site file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from datetime import UTC, date, datetime
from pathlib import Path
from threading import Lock
from typing import Any

from flask import Blueprint, Flask, Response, jsonify, render_template, request
from flask.typing import ResponseReturnValue

from nestwatch.desk.forms import read_drawing
from nestwatch.desk.guard import Guard
from nestwatch.desk.judge import blocking, doubts, judge
from nestwatch.desk.plan_view import pen_view
from nestwatch.desk.shell import make_shell
from nestwatch.desk.stills import Stills
from nestwatch.errors import PageError, SiteError
from nestwatch.site.draft import Draft, load_draft
from nestwatch.site.drawing import Drawing
from nestwatch.site.keep import replace_kept, require_same
from nestwatch.site.records import Camera
from nestwatch.site.rewrite import redrawn


def outline_app(path: Path) -> Callable[[Guard], Flask]:
    """What `make_server` needs for the drawing page of a site file, which is read when the page loads."""

    def make(guard: Guard) -> Flask:
        app = make_shell(guard)
        app.register_blueprint(_pages(Outlines(path)))
        return app

    return make


class Outlines:
    """The site file and its stills, as the page last loaded them."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._lock = Lock()
        self._draft: Draft | None = None
        self._stills: Stills | None = None

    def load(self) -> Draft:
        """Read the site file again. Raises `SiteError` for what drawing cannot mend."""
        draft = load_draft(self._path)
        with self._lock:
            self._draft, self._stills = draft, Stills(draft.site)
        return draft

    def draft(self) -> Draft:
        """The site file as the page last loaded it."""
        return self._draft or self.load()

    def stills(self) -> Stills:
        """Stills of the cameras in `draft`."""
        self.draft()
        assert self._stills is not None
        return self._stills

    def save(self, drawings: dict[str, Drawing], seen: str) -> Path:
        """Put the drawings into the site file; returns where the former version is kept.

        Raises `SiteError` (the file changed or can no longer be read, a drawing has mistakes) and
        `OutputError`; then nothing is written.
        """
        draft = self._readable()
        require_same(self._path, seen)
        mistakes = blocking(draft, drawings)
        if mistakes:
            raise SiteError(f"Nothing is saved yet. {_sentences(mistakes)}")
        text = redrawn(draft.text, drawings)
        kept = replace_kept(self._path, text.encode(), seen=seen)
        self.load()
        return kept

    def _readable(self) -> Draft:
        try:
            return load_draft(self._path)
        except SiteError as error:
            raise SiteError(
                f"Nothing is saved, because the site file was changed and cannot be read any more: {error}"
            ) from error


def _sentences(mistakes: list[str]) -> str:
    first = f"{mistakes[0][0].upper()}{mistakes[0][1:]}."
    more = len(mistakes) - 1
    return f"{first} ({more} more mistake{'s' if more > 1 else ''}.)" if more else first


def _pages(outlines: Outlines) -> Blueprint:
    pages = Blueprint("outline", __name__)

    @pages.get("/")
    def page() -> str:
        return render_template("outline.html.j2", site=outlines.load().site)

    @pages.get("/api/site")
    def site() -> Response:
        return jsonify(_site_json(outlines.load()))

    @pages.get("/api/camera/<int:number>/nights")
    def nights(number: int) -> Response:
        _camera(outlines, number)
        return jsonify([night.isoformat() for night in outlines.stills().nights(number)])

    @pages.get("/api/camera/<int:number>/strip")
    def strip(number: int) -> Response:
        _camera(outlines, number)
        return jsonify(_strip_json(outlines.stills(), number, _night()))

    @pages.get("/api/camera/<int:number>/still")
    def still(number: int) -> ResponseReturnValue:
        _camera(outlines, number)
        averaged = request.args.get("averaged") == "1"
        jpeg = outlines.stills().still(number, _night(), _instant(), averaged=averaged)
        if jpeg is None:
            return jsonify(
                why="Nothing was recorded then; move the slider to a time with a bar above it."
            ), 404
        return Response(jpeg, mimetype="image/jpeg")

    @pages.post("/api/camera/<int:number>/check")
    def check(number: int) -> Response:
        _camera(outlines, number)
        drawing = read_drawing(request.get_json(silent=True))
        return jsonify(asdict(judge(outlines.draft(), number, drawing)))

    @pages.post("/api/camera/<int:number>/doubts")
    def doubt(number: int) -> Response:
        _camera(outlines, number)
        drawing = read_drawing(request.get_json(silent=True))
        return jsonify(doubts(outlines.draft(), number, drawing))

    @pages.post("/api/save")
    def save() -> Response:
        kept = outlines.save(*_to_save(outlines, request.get_json(silent=True)))
        return jsonify(seen=outlines.draft().seen, kept=kept.name)

    return pages


def _site_json(draft: Draft) -> dict[str, Any]:
    site = draft.site
    return {
        "name": site.name,
        "file": draft.path.name,
        "timezone": site.timezone,
        "units": site.units,
        "seen": draft.seen,
        "cameras": [_camera_json(draft, camera) for camera in site.cameras],
    }


def _camera_json(draft: Draft, camera: Camera) -> dict[str, Any]:
    pen = draft.site.pen_of(camera)
    return {
        "name": camera.name,
        "picture": list(camera.picture),
        "pen": pen_view(pen) if pen else None,
        "zones": [
            {
                "name": zone.name,
                "kind": zone.kind,
                "was": zone.name,
                "outline": [list(p) for p in zone.outline],
            }
            for zone in camera.zones
        ],
        "marks": [{"post": mark.post, "pixel": list(mark.pixel)} for mark in camera.marks],
    }


def _strip_json(stills: Stills, number: int, night: date) -> dict[str, Any]:
    """The slider's ends and bars, in seconds since 1970; sunset and sunrise None where there is none."""
    strip = stills.strip(number, night)
    hours = strip.hours
    return {
        "from": hours.start.timestamp(),
        "to": hours.end.timestamp(),
        "recorded": [[start.timestamp(), end.timestamp()] for start, end in strip.recorded],
        "sunset": hours.sunset.timestamp() if hours.sunset else None,
        "sunrise": hours.sunrise.timestamp() if hours.sunrise else None,
    }


def _camera(outlines: Outlines, number: int) -> Camera:
    cameras = outlines.draft().site.cameras
    if number >= len(cameras):
        raise PageError("there is no such camera any more; load the page again.")
    return cameras[number]


def _night() -> date:
    try:
        return date.fromisoformat(request.args.get("night", ""))
    except ValueError:
        raise PageError("the night is not readable; load the page again.") from None


def _instant() -> datetime:
    """`at` in seconds since 1970."""
    try:
        return datetime.fromtimestamp(float(request.args.get("at", "")), UTC)
    except (ValueError, OverflowError, OSError):
        raise PageError("the time is not readable; load the page again.") from None


def _to_save(outlines: Outlines, body: object) -> tuple[dict[str, Drawing], str]:
    if not isinstance(body, dict) or not isinstance(body.get("drawings"), dict):
        raise PageError("what was to be saved is not readable; keep a copy as text and load the page again.")
    drawings = {name: read_drawing(drawing) for name, drawing in body["drawings"].items()}
    unknown = set(drawings) - {camera.name for camera in outlines.draft().site.cameras}
    if unknown:
        raise PageError(
            f'there is no camera "{min(unknown)}" in the site file any more; load the page again.'
        )
    return drawings, str(body.get("seen"))
