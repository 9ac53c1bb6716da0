"""The morning page put together: its rooms' pages behind the guard."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from flask import Flask

from nestwatch.desk.guard import Guard
from nestwatch.desk.morning.entries import entry_pages
from nestwatch.desk.morning.media import media_pages
from nestwatch.desk.morning.pages import reading_pages
from nestwatch.desk.morning.room import Room
from nestwatch.desk.morning.scrub import scrub_pages
from nestwatch.desk.shell import make_shell
from nestwatch.season.open import utc_now
from nestwatch.site.records import Site


def morning_app(
    site: Site, nights: Path, *, clock: Callable[[], datetime] = utc_now
) -> Callable[[Guard], Flask]:
    """What `make_server` needs for the desk of a site. `nights`: the folder that scans write to."""
    room = Room(site, nights, clock)

    def make(guard: Guard) -> Flask:
        app = make_shell(guard)
        for pages in (reading_pages, entry_pages, media_pages, scrub_pages):
            app.register_blueprint(pages(room))
        return app

    return make
