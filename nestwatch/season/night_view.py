"""Nights as they are shown: one whole night, a calendar, and the nests still in the ground."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from nestwatch.season.digs import OPEN, digs_of
from nestwatch.season.instants import read
from nestwatch.season.open import Record
from nestwatch.season.records import CalendarNight, Footage, Night, Point
from nestwatch.season.watched import watched_of

LONGEST = timedelta(days=150)
"""Eggs left in the ground for longer are not warned of any more."""


@dataclass(frozen=True, slots=True)
class NestInGround:
    """A nest of an earlier night whose eggs were not lifted. `plan_m` in metres on the plan of `pen`."""

    name: str
    pen: str
    plan_m: Point


def night_of(record: Record, night: date) -> Night | None:
    """All that the record has of one night; None where it has nothing."""
    row = record.row("SELECT * FROM night WHERE date = ?", (night.isoformat(),))
    if row is None:
        return None
    nesting = (read(row["nesting_from"]), read(row["nesting_to"])) if row["nesting_from"] else None
    return Night(
        date=night,
        start=read(row["starts_at"]),
        end=read(row["ends_at"]),
        nesting=nesting,
        scanned_at=read(row["scanned_at"]),
        folder=row["folder"],
        raids=tuple(json.loads(row["raids"])),
        clocks=tuple(json.loads(row["clocks"])),
        not_seen=tuple(json.loads(row["not_seen"])),
        footage=tuple(
            _footage(each)
            for each in record.rows("SELECT * FROM footage WHERE night = ? ORDER BY id", (row["id"],))
        ),
        digs=digs_of(record, night),
        watched=watched_of(record, night),
    )


def calendar(record: Record, first: date, last: date) -> tuple[CalendarNight, ...]:
    """The nights from `first` to `last` (both counted) that the record has, by date."""
    rows = record.rows(
        "SELECT night.date, night.scanned_at, "
        "(SELECT count(*) FROM dig WHERE dig.night = night.id AND dig.call IS NOT 'rest') AS digs, "
        "(SELECT count(*) FROM dig JOIN find ON find.dig = dig.id "
        " WHERE dig.night = night.id AND find.found = 'eggs') AS nests, "
        "(SELECT count(*) FROM dig LEFT JOIN find ON find.dig = dig.id "
        f" WHERE dig.night = night.id AND {OPEN}) AS open, "
        "(SELECT max(coalesce(nesting_seconds_read, seconds_read) / "
        " nullif(coalesce(nesting_seconds_expected, seconds_expected), 0)) FROM footage "
        " WHERE footage.night = night.id) AS seen, "
        "EXISTS (SELECT 1 FROM watched WHERE watched.night = night.id) AS watched "
        "FROM night WHERE night.date BETWEEN ? AND ? ORDER BY night.date",
        (first.isoformat(), last.isoformat()),
    )
    return tuple(_calendar_night(row) for row in rows)


def _calendar_night(row: sqlite3.Row) -> CalendarNight:
    seen = None if row["scanned_at"] is None else row["seen"] or 0.0
    day = date.fromisoformat(row["date"])
    return CalendarNight(day, row["digs"], row["nests"], row["open"], seen, bool(row["watched"]))


def nests_in_ground(record: Record, night: date) -> tuple[NestInGround, ...]:
    """Nests of earlier nights that a raider may be after in `night`: eggs not lifted, or called a nest and
    not yet dug up. Only those with a place on a plan."""
    rows = record.rows(
        "SELECT dig.pen, dig.plan_x, dig.plan_y, night.date FROM dig JOIN night ON night.id = dig.night "
        "LEFT JOIN find ON find.dig = dig.id LEFT JOIN clutch ON clutch.dig = dig.id "
        "WHERE night.date < ? AND night.date >= ? AND dig.pen IS NOT NULL AND dig.plan_x IS NOT NULL "
        "AND ((find.found = 'eggs' AND clutch.lifted_at IS NULL) "
        f"OR ({OPEN} AND coalesce(dig.call, 'nest') = 'nest')) ORDER BY night.date, dig.id",
        (night.isoformat(), (night - LONGEST).isoformat()),
    )
    return tuple(
        NestInGround(f"the nest of {row['date']}", row["pen"], (row["plan_x"], row["plan_y"])) for row in rows
    )


def footage_between(record: Record, first: date, last: date) -> dict[date, tuple[Footage, ...]]:
    """What cameras saw from the night of `first` to that of `last`, by night."""
    rows = record.rows(
        "SELECT footage.*, night.date FROM footage JOIN night ON night.id = footage.night "
        "WHERE night.date BETWEEN ? AND ? ORDER BY footage.id",
        (first.isoformat(), last.isoformat()),
    )
    found: dict[date, tuple[Footage, ...]] = {}
    for row in rows:
        night = date.fromisoformat(row["date"])
        found[night] = (*found.get(night, ()), _footage(row))
    return found


def _footage(row: sqlite3.Row) -> Footage:
    numbers = ("seconds_expected", "seconds_read", "nesting_seconds_expected", "nesting_seconds_read")
    lists: dict[str, Any] = {
        name: tuple(json.loads(row[name])) for name in ("gaps", "health", "unreadable", "notes")
    }
    return Footage(
        camera=row["camera"],
        start=read(row["starts_at"]),
        end=read(row["ends_at"]),
        **{name: row[name] for name in (*numbers, "looked_min")},
        zone_seen=None if row["zone_seen"] is None else json.loads(row["zone_seen"]),
        **lists,
    )
