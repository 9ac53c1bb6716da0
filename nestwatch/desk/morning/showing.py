"""A page of the desk with what every page shows: the site, and the entry that can be taken back."""

from __future__ import annotations

from typing import Any

from flask import render_template

from nestwatch.desk.morning.room import Room
from nestwatch.desk.morning.wording import Wording
from nestwatch.season.journal import actions
from nestwatch.season.open import Record
from nestwatch.season.records import Action

MOST_ENTRIES = 50


def show(room: Room, record: Record, template: str, **values: Any) -> str:
    """The page made of `template`."""
    return render_template(
        template,
        site=room.site,
        say=Wording(room.site, room.clock()),
        last_entry=_last_entry(record),
        **values,
    )


def _last_entry(record: Record) -> Action | None:
    """The keeper's last entry that still stands, among the latest; what `undo` takes back."""
    found = actions(record, limit=MOST_ENTRIES)
    return next(
        (each for each in found if each.by == "keeper" and not each.undone and each.undoes is None), None
    )
