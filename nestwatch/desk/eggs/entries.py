"""What is written: a form sent, one call of the record, and the page again; refused, with what was typed."""

from __future__ import annotations

from dataclasses import dataclass, replace

from flask import Blueprint, abort, redirect, request
from flask.typing import ResponseReturnValue
from werkzeug.wrappers import Response as AnyResponse

from nestwatch.desk.eggs.forms import Sent
from nestwatch.desk.eggs.kinds import KINDS
from nestwatch.desk.eggs.logs import LARGEST_FILE, Asked, Held, HeldFile, take_file
from nestwatch.desk.eggs.views import Trouble, all_boxes, box_address, egg_address, one_box, one_egg
from nestwatch.desk.eggs.wording import on_page
from nestwatch.desk.morning.room import Room
from nestwatch.errors import ChangedMeanwhile, DoubtfulEntry, EntryError, NestwatchError, PageError
from nestwatch.season.incubation.containers import containers
from nestwatch.season.incubation.eggs import egg_by_id
from nestwatch.season.journal import actions
from nestwatch.season.open import Record

LOG = "log"
ENTER = "egg_entries.enter"
_TO_THE_BOX = {"new-box", "place"}


@dataclass(frozen=True, slots=True)
class _Answer:
    """What is wrong with an entry, and the status it is answered with."""

    trouble: Trouble
    status: int


def entry_pages(room: Room) -> Blueprint:
    """The writes, behind the page's token as all others are."""
    pages = Blueprint("egg_entries", __name__, url_prefix="/eggs")
    held = Held()
    pages.app_url_value_preprocessor(_let_files_in)

    @pages.post("/enter/<kind>")
    def enter(kind: str) -> ResponseReturnValue:
        if kind not in KINDS and kind != LOG:
            abort(404)
        sent = Sent(request.form, room.zone)
        with room.opened() as record:
            wrong = _entered(record, room, held, kind, sent)
            if wrong is not None:
                return _again(record, room, sent, wrong.trouble), wrong.status
            return _next(record, kind, sent)

    return pages


def _let_files_in(endpoint: str | None, values: dict[str, object] | None) -> None:
    """Files are larger than anything else that is sent; before the guard looks at the form."""
    if endpoint == ENTER and values is not None and values.get("kind") == LOG:
        request.max_content_length = LARGEST_FILE


def _entered(record: Record, room: Room, held: Held, kind: str, sent: Sent) -> _Answer | None:
    """Enter it; what is wrong where it was not."""
    try:
        if kind == LOG:
            take_file(record, room.site, sent, _file(held, sent))
        else:
            KINDS[kind](record, room.site, sent)
    except Asked as asked:
        trouble = replace(_trouble(kind, sent, asked.why), question=asked.question)
        return _Answer(trouble, _status(asked.why))
    except (EntryError, PageError) as error:
        return _Answer(_trouble(kind, sent, error), _status(error))
    return None


def _trouble(kind: str, sent: Sent, error: NestwatchError) -> Trouble:
    """Where somebody else was first, the form shows how it is now, and not what was typed."""
    changed = isinstance(error, ChangedMeanwhile)
    words = f"nothing was entered: {error}" if changed else on_page(str(error))
    form = "" if changed else kind
    told = words[0].upper() + words[1:]
    return Trouble(form, sent.fields, told, isinstance(error, DoubtfulEntry), changed)


def _status(error: Exception) -> int:
    """422: unlikely; 409: somebody else was first; 400: it cannot be. Nothing was written."""
    return 422 if isinstance(error, DoubtfulEntry) else 409 if isinstance(error, ChangedMeanwhile) else 400


def _file(held: Held, sent: Sent) -> HeldFile:
    """The file chosen now, else the one held since it was asked about."""
    file = request.files.get("file")
    if file is not None and file.filename:
        return held.keep(file.filename[-120:], file.read())
    if sent.text("held") is None:
        raise EntryError("choose the logger's file first.")
    return held.get(sent.text("held") or "")


def _again(record: Record, room: Room, sent: Sent, trouble: Trouble) -> str:
    """The page on which the form stands, with what was typed and what is wrong."""
    if sent.text("page") == "egg":
        return one_egg(room, record, egg_by_id(record, sent.row("number")), trouble=trouble)
    if sent.text("page") == "box":
        return one_box(room, record, sent.text("box") or "", trouble=trouble)
    return all_boxes(room, record, trouble=trouble)


def _next(record: Record, kind: str, sent: Sent) -> AnyResponse:
    """Back to the page of the form, which tells what was done."""
    (done,) = actions(record, limit=1)
    label = sent.text("label") if kind in {"new-box", "change-box"} else sent.text("box")
    known = {each.label.casefold() for each in containers(record)}
    there = label is not None and label.casefold() in known
    if sent.text("page") == "egg":
        try:
            return redirect(egg_address(egg_by_id(record, sent.row("number")), done=done.id), 303)
        except EntryError:
            pass  # taken back: the egg is in no box any more
    elif there and label is not None and (sent.text("page") == "box" or kind in _TO_THE_BOX):
        return redirect(box_address(label, done=done.id), 303)
    return redirect(f"/eggs/?done={done.id}", 303)
