"""Nights watched by eye, so that a season with a camera down has no hole where somebody sat outside."""

from __future__ import annotations

import sqlite3
from datetime import date, datetime
from typing import TYPE_CHECKING

from nestwatch.errors import EntryError
from nestwatch.season.instants import read, written
from nestwatch.season.open import Record
from nestwatch.season.records import Watched

if TYPE_CHECKING:
    from nestwatch.site.records import Site

_SELECT = "SELECT watched.*, night.date FROM watched JOIN night ON night.id = watched.night"


def add_watched(
    record: Record,
    site: Site,
    night: date,
    start: datetime,
    end: datetime,
    *,
    pen: str | None = None,
    who: str | None = None,
    note: str | None = None,
) -> Watched:
    """Enter that somebody watched from `start` to `end` (aware); `pen` None: all. Raises `EntryError`."""
    from nestwatch.season.by_hand import night_row

    _check(record, site, night, start, end, pen)
    with record.writing(f"{night}: watched by eye") as writer:
        row = night_row(record, writer, site, night)
        values = {"night": row, "pen": pen, "starts_at": written(start), "ends_at": written(end)}
        number = writer.add("watched", {**values, "who": who, "note": note})
    found = record.rows(f"{_SELECT} WHERE watched.id = ?", (number,))
    return _watched(found[0])


def watched_of(record: Record, night: date) -> tuple[Watched, ...]:
    """The stretches of a night that were watched by eye, by time."""
    rows = record.rows(f"{_SELECT} WHERE night.date = ? ORDER BY starts_at", (night.isoformat(),))
    return tuple(_watched(row) for row in rows)


def all_watched(record: Record) -> tuple[Watched, ...]:
    """Every stretch watched by eye, by time."""
    return tuple(_watched(row) for row in record.rows(f"{_SELECT} ORDER BY watched.starts_at"))


def _check(record: Record, site: Site, night: date, start: datetime, end: datetime, pen: str | None) -> None:
    from nestwatch.season.by_hand import BESIDE
    from nestwatch.site.hours import night_hours
    from nestwatch.site.names import did_you_mean

    hours, pens = night_hours(site, night), [each.name for each in site.pens]
    if end <= start:
        raise EntryError("watching ends before it begins; change one of the times.")
    if end > record.clock():
        raise EntryError("that time has not come yet; enter it when the watch is over.")
    if start < hours.start - BESIDE or end > hours.end + BESIDE:
        raise EntryError(f"these times do not belong to the night of {night}; check the day.")
    if pen is not None and pen not in pens:
        raise EntryError(f'the site has no pen "{pen}"{did_you_mean(pen, pens) or "."}')


def _watched(row: sqlite3.Row) -> Watched:
    return Watched(
        row["id"],
        row["version"],
        date.fromisoformat(row["date"]),
        row["pen"],
        read(row["starts_at"]),
        read(row["ends_at"]),
        row["who"],
        row["note"],
    )
