"""The morning page put together: its rooms' pages behind the guard."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from flask import Flask

from nestwatch.desk.eggs.app import add_egg_pages
from nestwatch.desk.guard import Guard
from nestwatch.desk.morning.entries import entry_pages
from nestwatch.desk.morning.media import media_pages
from nestwatch.desk.morning.pages import reading_pages
from nestwatch.desk.morning.room import Room
from nestwatch.desk.morning.scrub import scrub_pages
from nestwatch.desk.season.pages import season_pages
from nestwatch.desk.shell import make_shell
from nestwatch.season.clock import Clock, clock_of
from nestwatch.site.records import Site


def morning_app(site: Site, nights: Path, *, clock: Clock | None = None) -> Callable[[Guard], Flask]:
    """What `make_server` needs for the desk of a site. `nights`: the folder that scans write to.

    `clock` None: the time now, or that of a demo in its folder.
    """
    room = Room(site, nights, clock or clock_of(site))

    def make(guard: Guard) -> Flask:
        app = make_shell(guard)
        for pages in (reading_pages, entry_pages, media_pages, scrub_pages, season_pages):
            app.register_blueprint(pages(room))
        add_egg_pages(app, room, guard)
        return app

    return make
