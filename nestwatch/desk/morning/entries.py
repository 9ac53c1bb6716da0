"""What the desk writes: each request becomes one call of the record, the same that the commands make."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify, request
from flask.typing import ResponseReturnValue

from nestwatch.desk.morning.forms import read_clutch, read_dig, read_entry, read_find
from nestwatch.desk.morning.pages import a_day
from nestwatch.desk.morning.room import Room
from nestwatch.errors import ChangedMeanwhile, DoubtfulEntry, EntryError, PageError
from nestwatch.season.by_hand import add_dig
from nestwatch.season.clutches import change_clutch
from nestwatch.season.females import add_female, females
from nestwatch.season.finds import enter_find, find_words
from nestwatch.season.journal import undo
from nestwatch.season.open import Record
from nestwatch.season.records import Dig
from nestwatch.site.records import Site

_SURE_BY_COMMAND = "add --sure"
_SURE_HERE = "say so with the button below"


def entry_pages(room: Room) -> Blueprint:
    """The writes, all of them below `/api/` and behind the page's token."""
    pages = Blueprint("entries", __name__, url_prefix="/api")
    pages.register_error_handler(DoubtfulEntry, _doubtful)
    pages.register_error_handler(ChangedMeanwhile, _changed)
    pages.register_error_handler(EntryError, _refused)
    pages.register_error_handler(PageError, _refused)

    @pages.post("/dig/<int:number>/find")
    def find(number: int) -> Response:
        form = read_find(request.get_json(silent=True))
        with room.opened() as record:
            dig = enter_find(
                record, room.site, room.dig(record, number), form.found, why=form.why, seen=form.seen
            )
        return _said(f"Entered for {_name(dig)}: {find_words(dig.find)}.", dig)

    @pages.post("/dig/<int:number>/clutch")
    def clutch(number: int) -> Response:
        with room.opened() as record:
            dig = room.dig(record, number)
            form = read_clutch(request.get_json(silent=True), room.zone, dig.night)
            if form.new_female is not None:
                _require_female(record, room.site, form.new_female)
            change_clutch(record, room.site, dig, form.changes, seen=form.seen, sure=form.sure)
        return _said(f"Entered: the clutch of {_name(dig)}.", dig)

    @pages.post("/night/<day>/dig")
    def dig(day: str) -> Response:
        night = a_day(day)
        told, sure = read_dig(request.get_json(silent=True), room.zone, night)
        with room.opened() as record:
            added = add_dig(record, room.site, night, told, sure=sure)
        return _said(f"Added: {_name(added)}.", added)

    @pages.post("/undo")
    def take_back() -> Response:
        number = read_entry(request.get_json(silent=True))
        with room.opened() as record:
            taken = undo(record, number)
        return jsonify(said=f"Taken back: {taken.words}.")

    return pages


def _require_female(record: Record, site: Site, name: str) -> None:
    """Enter a female, unless she is there: the form may come a second time, as sure."""
    if all(each.name.casefold() != name.casefold() for each in females(record)):
        add_female(record, site, name, {})


def _name(dig: Dig) -> str:
    return f"dig {dig.label} of the night of {dig.night}"


def _said(words: str, dig: Dig) -> Response:
    return jsonify(said=words, dig=dig.id, night=dig.night.isoformat())


def _doubtful(error: DoubtfulEntry) -> ResponseReturnValue:
    """422: unlikely; the page offers to send it again as sure."""
    return jsonify(why=str(error).replace(_SURE_BY_COMMAND, _SURE_HERE), doubtful=True), 422


def _changed(error: ChangedMeanwhile) -> ResponseReturnValue:
    """409: another desk or a command was first; the page shows how it is now."""
    return jsonify(why=f"Nothing was entered: {error}", changed=True), 409


def _refused(error: Exception) -> ResponseReturnValue:
    """400: it cannot be; nothing was written."""
    return jsonify(why=str(error)), 400
