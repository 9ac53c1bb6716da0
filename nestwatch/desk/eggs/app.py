"""The rooms of incubation put together, for the desk's application."""

from __future__ import annotations

from flask import Flask, Response, render_template
from flask.typing import ResponseReturnValue

from nestwatch.desk.eggs.entries import entry_pages
from nestwatch.desk.eggs.pages import desk_address, reading_pages
from nestwatch.desk.guard import TOKEN_FIELD, Guard
from nestwatch.desk.morning.room import Room
from nestwatch.errors import EntryError


def add_egg_pages(app: Flask, room: Room, guard: Guard) -> None:
    """Register the pages of incubation."""
    for pages in (reading_pages(room, guard), entry_pages(room)):
        pages.register_error_handler(EntryError, _missing)
        pages.after_request(_told_of_forms)
        pages.context_processor(lambda: {"token_field": TOKEN_FIELD, "desk_address": desk_address(guard)})
        app.register_blueprint(pages)


def _missing(error: EntryError) -> ResponseReturnValue:
    """A box or an egg that is not there."""
    return render_template("message.html.j2", why=str(error)), 404


def _told_of_forms(answer: Response) -> Response:
    """A browser names the page that a form comes from only under this policy; others are told nothing."""
    answer.headers["Referrer-Policy"] = "same-origin"
    return answer
