"""Nights, what the cameras saw of them, and what was watched by eye, as tables."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from nestwatch.season.export.records import ID, NOTE, Field, Row, Table
from nestwatch.season.records import Footage, Night

NIGHT = Field("night", "date", "The night, named by the date of its evening.")
_FROM = Field("from", "datetime", "When it began.")
_TO = Field("to", "datetime", "When it ended.")
_CAMERA = Field("camera", "string", "The camera's name.")

_NIGHTS = (
    NIGHT,
    _FROM,
    _TO,
    Field("nesting_from", "datetime", "When digs were expected from."),
    Field("nesting_to", "datetime", "When digs were expected until."),
    Field("scanned_at", "datetime", "When the recordings were watched by the program; empty: never."),
    Field("nesting_seconds", "number", "Length of the nesting hours, seconds."),
    Field("nesting_seconds_read", "number", "Of these, read from the camera that recorded most, seconds."),
    Field("digs", "integer", "Digs on record, rests left out."),
    Field("nests", "integer", "Digs at which eggs were found."),
    Field("open", "integer", "Digs still to be looked at."),
    Field("raids", "integer", "Warnings of a raid."),
    Field("watched_by_eye", "boolean", "Whether somebody watched by eye, for a while at least."),
)

_FOOTAGE = (
    NIGHT,
    _CAMERA,
    _FROM,
    _TO,
    Field("seconds_expected", "number", "Length of the night, seconds."),
    Field("seconds_read", "number", "Of these, recorded and read."),
    Field("nesting_seconds_expected", "number", "Length of the nesting hours, seconds."),
    Field("nesting_seconds_read", "number", "Of these, recorded and read."),
    Field("looked_min", "number", "Minutes of the nesting hours clear enough to judge; empty: not measured."),
    Field("unreadable", "integer", "Files that could not be read, or only in part."),
    Field("gaps", "string", "What was not recorded: from/to and why, separated by |."),
    Field("health", "string", "What was wrong with the picture: from/to and what, separated by |."),
)

_WATCHED = (
    ID,
    NIGHT,
    Field("pen", "string", "The pen; empty: all of them."),
    _FROM,
    _TO,
    Field("who", "string", "Who watched.", private="words"),
    NOTE,
)


def nights_table(nights: Sequence[Night]) -> Table:
    """One row a night."""
    return Table("nights", "Nights on record.", _NIGHTS, tuple(_night(night) for night in nights))


def footage_table(nights: Sequence[Night]) -> Table:
    """One row for each camera of each night: what it recorded, and what it did not."""
    rows = tuple(_footage(night, each) for night in nights for each in night.footage)
    return Table("footage", "What each camera saw of each night, and what it did not.", _FOOTAGE, rows)


def watched_table(nights: Sequence[Night]) -> Table:
    """One row for each stretch watched by eye."""
    rows = tuple(
        {
            **{name: getattr(each, name) for name in ("id", "night", "pen", "who", "note")},
            "from": each.start,
            "to": each.end,
        }
        for night in nights
        for each in night.watched
    )
    return Table("watched", "Stretches of nights watched by eye.", _WATCHED, rows)


def _night(night: Night) -> Row:
    nesting = night.nesting or (None, None)
    best = max(night.footage, key=lambda each: each.nesting_seconds_read or 0.0, default=None)
    return {
        "night": night.date,
        "from": night.start,
        "to": night.end,
        "nesting_from": nesting[0],
        "nesting_to": nesting[1],
        "scanned_at": night.scanned_at,
        "nesting_seconds": None
        if night.nesting is None
        else (night.nesting[1] - night.nesting[0]).total_seconds(),
        "nesting_seconds_read": None if best is None else best.nesting_seconds_read,
        "digs": sum(dig.call != "rest" for dig in night.digs),
        "nests": sum(dig.find is not None and dig.find.found == "eggs" for dig in night.digs),
        "open": sum(dig.is_open for dig in night.digs),
        "raids": len(night.raids),
        "watched_by_eye": bool(night.watched),
    }


def _footage(night: Night, footage: Footage) -> Row:
    same = ("camera", "seconds_expected", "seconds_read", "nesting_seconds_expected", "nesting_seconds_read")
    return {
        **{name: getattr(footage, name) for name in (*same, "looked_min")},
        "night": night.date,
        "from": footage.start,
        "to": footage.end,
        "unreadable": len(footage.unreadable),
        "gaps": _spans(footage.gaps, "why"),
        "health": _spans(footage.health, "what"),
    }


def _spans(entries: Sequence[Mapping[str, Any]], what: str) -> str | None:
    return " | ".join(f"{each['from']}/{each['to']} {each[what]}" for each in entries) or None
