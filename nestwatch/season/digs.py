"""Digs read from the record: of a night, by their label, and those still open."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence
from datetime import date
from typing import Any

from nestwatch.errors import EntryError
from nestwatch.season.instants import read
from nestwatch.season.open import Record
from nestwatch.season.records import Dig, Find
from nestwatch.season.scan import point_of

_SELECT = (
    "SELECT dig.*, night.date, find.id AS find_id, find.version AS find_version, find.found, find.why, "
    "find.entered_at FROM dig JOIN night ON night.id = dig.night LEFT JOIN find ON find.dig = dig.id"
)
# Digs that the keeper has still to settle; the same as `Dig.is_open`.
OPEN = (
    "(find.found = 'not-yet' OR (find.id IS NULL AND "
    "CASE WHEN dig.listed THEN dig.call IS NOT 'rest' ELSE dig.source <> 'scan' OR dig.call IS 'nest' END))"
)
_ORDER = "ORDER BY night.date, dig.listed DESC, dig.rank, dig.id"


def digs_of(record: Record, night: date) -> tuple[Dig, ...]:
    """A night's digs: those of its latest scan by rank, then those with letters."""
    return _digs(record, "WHERE night.date = ?", (night.isoformat(),))


def open_digs(record: Record, *, before: date | None = None, limit: int = -1) -> tuple[Dig, ...]:
    """Every dig of every night that is still to be settled, the oldest night first.

    `before`: only of nights before this one. `limit`: at most so many, negative for all.
    """
    return _digs(record, f"WHERE {OPEN} AND night.date < ?", (_until(before),), limit)


def count_open(record: Record, *, before: date | None = None) -> int:
    """How many digs (of nights before `before`) are still to be settled."""
    row = record.row(
        "SELECT count(*) AS count FROM dig JOIN night ON night.id = dig.night "
        f"LEFT JOIN find ON find.dig = dig.id WHERE {OPEN} AND night.date < ?",
        (_until(before),),
    )
    return 0 if row is None else int(row["count"])


def _until(before: date | None) -> str:
    return "9999-99" if before is None else before.isoformat()


def dig_by_id(record: Record, number: int) -> Dig:
    """The dig with a number of the record (not its label). Raises `EntryError`."""
    found = _digs(record, "WHERE dig.id = ?", (number,))
    if not found:
        raise EntryError(f"the record has no dig with the number {number} any more; look again.")
    return found[0]


def dig_called(record: Record, night: date, label: str) -> Dig:
    """The dig of a night that the keeper calls `label` (a rank, or a letter in either case).

    Raises `EntryError` where the record has no such night or dig.
    """
    digs = digs_of(record, night)
    wanted = label.strip().upper()
    found = next((dig for dig in digs if dig.label == wanted), None)
    if found is None:
        raise EntryError(_no_such(record, night, label, [dig.label for dig in digs]))
    return found


def require_night(record: Record, night: date) -> None:
    """Raises `EntryError` where the record has nothing of a night."""
    if record.row("SELECT 1 FROM night WHERE date = ?", (night.isoformat(),)) is None:
        raise EntryError(_no_night(record, night))


def _no_such(record: Record, night: date, label: str, labels: Sequence[str]) -> str:
    if labels:
        return f'the night of {night} has no dig "{label}"; it has {", ".join(labels)}.'
    if record.row("SELECT 1 FROM night WHERE date = ?", (night.isoformat(),)) is not None:
        return f"the night of {night} has no dig; add one that you saw with nestwatch dig SITE {night}."
    return _no_night(record, night)


def _no_night(record: Record, night: date) -> str:
    last = record.row("SELECT max(date) AS last FROM night WHERE date < ?", (night.isoformat(),))
    before = "" if last is None or last["last"] is None else f" (the last one before it is {last['last']})"
    return (
        f"the record has no night of {night}{before}; watch it with nestwatch night SITE --date {night}, or "
        f"add a dig that you saw with nestwatch dig SITE {night}."
    )


def next_letter(record: Record, night: int) -> str:
    """The first letter that no dig of a night (its row) has: A to Z, then AA, AB ..."""
    rows = record.rows("SELECT letter FROM dig WHERE night = ? AND letter IS NOT NULL", (night,))
    taken = {row["letter"] for row in rows}
    return next(letter for letter in map(_letter, range(len(taken) + 1)) if letter not in taken)


def _letter(number: int) -> str:
    """A, B, ..., Z, AA, AB, ..."""
    more, rest = divmod(number, 26)
    return (_letter(more - 1) if more else "") + chr(ord("A") + rest)


def _digs(record: Record, where: str, values: Sequence[Any] = (), limit: int = -1) -> tuple[Dig, ...]:
    rows = record.rows(f"{_SELECT} {where} {_ORDER} LIMIT ?", (*values, limit))
    return tuple(_dig(row) for row in rows)


def _dig(row: sqlite3.Row) -> Dig:
    same = ("id", "version", "source", "rank", "rank_before", "camera", "zone", "pen", "call", "likelihood")
    more = ("likelihood_as_built", "within_px", "within_m", "shell_length_cm", "clip", "note")
    nesting = row["in_nesting_hours"]
    return Dig(
        **{name: row[name] for name in (*same, *more)},
        night=date.fromisoformat(row["date"]),
        label=label_of(row),
        listed=bool(row["listed"]),
        cameras=tuple(json.loads(row["cameras"])),
        start=read(row["starts_at"]),
        end=read(row["ends_at"]),
        reasons=tuple(json.loads(row["reasons"])),
        stages=tuple(json.loads(row["stages"])),
        tape=tuple(json.loads(row["tape"])),
        pixel=point_of(row["pixel_x"], row["pixel_y"]),
        plan_m=point_of(row["plan_x"], row["plan_y"]),
        in_nesting_hours=None if nesting is None else bool(nesting),
        pictures=json.loads(row["pictures"]),
        find=_find(row),
    )


def label_of(row: sqlite3.Row) -> str:
    """What the keeper calls a dig: its rank on the night's page, else its letter."""
    return str(row["rank"]) if row["listed"] else str(row["letter"])


def _find(row: sqlite3.Row) -> Find | None:
    if row["find_id"] is None:
        return None
    return Find(row["find_id"], row["find_version"], row["found"], row["why"], read(row["entered_at"]))
