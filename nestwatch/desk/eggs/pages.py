"""What is read: all boxes, one box, one egg, labels to print, and where a label's code leads."""

from __future__ import annotations

from flask import Blueprint, Response, abort, render_template, request
from flask.typing import ResponseReturnValue

from nestwatch.desk.eggs.views import all_boxes, one_box, one_egg
from nestwatch.desk.guard import Guard
from nestwatch.desk.morning.media import drawing
from nestwatch.desk.morning.room import Room
from nestwatch.errors import EntryError
from nestwatch.season.incubation.containers import container_called
from nestwatch.season.incubation.eggs import egg_by_id
from nestwatch.season.incubation.expected import expectations
from nestwatch.season.incubation.labels import NAMES, Size, labels_of, printed_labels

LONGEST_TEXT = 2000


def reading_pages(room: Room, guard: Guard) -> Blueprint:
    """The pages that change nothing."""
    pages = Blueprint("eggs", __name__, url_prefix="/eggs")

    @pages.get("/")
    def everything() -> str:
        with room.opened() as record:
            return all_boxes(room, record)

    @pages.get("/box/<label>")
    @pages.get("/box")
    def box(label: str | None = None) -> str:
        with room.opened() as record:
            return one_box(room, record, request.args.get("label", "") if label is None else label)

    @pages.get("/egg/<int:number>")
    def egg(number: int) -> str:
        with room.opened() as record:
            return one_egg(room, record, egg_by_id(record, number))

    @pages.get("/label")
    def label() -> ResponseReturnValue:
        """Where a printed label's code leads; what the label says is shown even where the box is gone."""
        told = request.args.get("text", "")[:LONGEST_TEXT]
        with room.opened() as record:
            try:
                return one_box(room, record, request.args.get("box", ""), told=told)
            except EntryError as error:
                return render_template("eggs/gone.html.j2", why=str(error), told=told), 404

    @pages.get("/labels.pdf")
    def labels() -> Response:
        size = request.args.get("size", "medium")
        if size not in NAMES:
            abort(404)
        content = _labels(room, guard, request.args.get("box"), size)
        named = {"Content-Disposition": f'inline; filename="labels-{size}.pdf"'}
        return Response(content, mimetype="application/pdf", headers=named)

    return pages


def desk_address(guard: Guard) -> str | None:
    """Where phones find this desk: as this browser calls it, if that is such an address; None for nowhere."""
    host = request.host if request.host in guard.house else next(iter(guard.house), None)
    return None if host is None else f"http://{host}/"


def _labels(room: Room, guard: Guard, box: str | None, size: Size) -> bytes:
    with room.opened() as record:
        wanted = None if box is None else container_called(record, box).id
        found = [each for each in expectations(record, room.site) if wanted in {None, each.container.id}]
        made = labels_of(found, record.zone)
    if not made:
        raise EntryError("no label was made: no egg lies in a box.")
    with drawing:
        return printed_labels(made, size, desk_address(guard))
