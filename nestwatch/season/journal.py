"""Every change to the record with its time and what was there before; and taking actions back.

An action (one thing the keeper did, one scan taken in) may change several rows. It can be taken back while
all that it wrote still stands; taking back is itself an action, and can be taken back.
"""

from __future__ import annotations

import json
import sqlite3
from typing import Any

from nestwatch.errors import EntryError
from nestwatch.season.instants import read
from nestwatch.season.migrations import JOURNALLED
from nestwatch.season.open import Record, Writer
from nestwatch.season.records import Action, Change

_ACTION = (
    "SELECT a.*, (SELECT max(u.id) FROM action u WHERE u.undoes = a.id) AS undone_by FROM action a "
    "WHERE a.under_way = 0"
)
_SILENT = {"version"}

Row = dict[str, Any]


def actions(record: Record, *, limit: int = 20) -> list[Action]:
    """The last actions, the newest first."""
    return [_action(record, row) for row in record.rows(f"{_ACTION} ORDER BY a.id DESC LIMIT ?", (limit,))]


def history(record: Record, entry: str, row: int) -> list[Change]:
    """All changes of one entry (`find`, `clutch`, `dig`, ...), oldest first; also of a removed one."""
    found = record.rows("SELECT * FROM change WHERE entry = ? AND row = ? ORDER BY id", (entry, row))
    states = [_state(each["before"]) for each in found] + [_now(record, entry, row)]
    return [
        Change(_require_action(record, each["action"]), entry, row, _differences(before, after))
        for each, before, after in zip(found, states, states[1:], strict=False)
    ]


def finds_history(record: Record, dig: int) -> list[Change]:
    """All changes of a dig's find and of its clutch, the oldest first."""
    rows = record.rows(
        "SELECT DISTINCT entry, row FROM change WHERE entry IN ('find', 'clutch') AND coalesce("
        "json_extract(before, '$.dig'), (SELECT dig FROM find WHERE id = row AND entry = 'find'), "
        "(SELECT dig FROM clutch WHERE id = row AND entry = 'clutch')) = ?",
        (dig,),
    )
    found = [change for each in rows for change in history(record, each["entry"], each["row"])]
    return sorted(found, key=lambda change: change.action.id)


def undo(record: Record, number: int | None = None) -> Action:
    """Take back an action, by default the keeper's last one that still stands; returns the one taken back.

    Raises `EntryError` where there is none, where it was a scan, or where what it wrote was changed since.
    """
    target = _last(record) if number is None else _require_action(record, number)
    if target.by == "scan":
        raise EntryError(f"entry {target.id} is a scan of a night; scan the night again instead.")
    if target.undone:
        raise EntryError(f"entry {target.id} ({target.words}) was taken back already.")
    try:
        with record.writing(f"taken back: {target.words}", undoes=target.id) as writer:
            writer.run("PRAGMA defer_foreign_keys = ON", ())  # rows come back in any order
            for entry, row, before in _wanted(record, target):
                _put_back(record, writer, entry, row, before)
    except sqlite3.IntegrityError as error:
        raise EntryError(
            f"entry {target.id} ({target.words}) cannot be taken back: later entries rest on it; take those "
            "back first (nestwatch undo SITE --list)."
        ) from error
    return target


def _wanted(record: Record, target: Action) -> list[tuple[str, int, Row | None]]:
    """(entry, row, what was there before) of all that an action changed; raises where it stands no more."""
    rows = record.rows(
        "SELECT entry, row, before FROM change WHERE action = ? ORDER BY id DESC", (target.id,)
    )
    first = {(each["entry"], each["row"]): _state(each["before"]) for each in rows}
    for entry, row in first:
        if _told(_now(record, entry, row)) != _told(_after(record, target, entry, row)):
            raise EntryError(
                f"entry {target.id} ({target.words}) was changed since by entry "
                f"{_changed_by(record, entry, row)}; take that back first (nestwatch undo SITE --list)."
            )
    return [(entry, row, before) for (entry, row), before in first.items()]


def _put_back(record: Record, writer: Writer, entry: str, row: int, before: Row | None) -> None:
    if before is None:
        writer.remove(entry, row)
        return
    values = {name: before[name] for name in record.column_names(entry) if name in before}
    now = _now(record, entry, row)
    if now is None:
        writer.add(entry, values)
    else:
        values.pop("version", None)
        writer.change(entry, row, values)


def _after(record: Record, action: Action, entry: str, row: int) -> Row | None:
    """A row as an action left it."""
    later = record.row(
        "SELECT before FROM change WHERE entry = ? AND row = ? AND action > ? ORDER BY id LIMIT 1",
        (entry, row, action.id),
    )
    return _now(record, entry, row) if later is None else _state(later["before"])


def _changed_by(record: Record, entry: str, row: int) -> int:
    found = record.row("SELECT max(action) AS last FROM change WHERE entry = ? AND row = ?", (entry, row))
    return 0 if found is None else int(found["last"])


def _now(record: Record, entry: str, row: int) -> Row | None:
    """A row as it is, in the form in which the journal keeps it."""
    if entry not in JOURNALLED:
        raise ValueError(f"{entry} is not journalled")
    pairs = ", ".join(f"'{name}', {name}" for name in record.column_names(entry))
    found = record.row(f"SELECT json_object({pairs}) AS state FROM {entry} WHERE id = ?", (row,))
    return None if found is None else _state(found["state"])


def _state(text: str | None) -> Row | None:
    return None if text is None else json.loads(text)


def _told(state: Row | None) -> Row | None:
    """What a state says. A column that an older record had not is the same as nothing in it."""
    if state is None:
        return None
    return {name: value for name, value in state.items() if name not in _SILENT and value is not None}


def _differences(before: Row | None, after: Row | None) -> dict[str, tuple[Any, Any]]:
    old, new = before or {}, after or {}
    names = [name for name in {**old, **new} if name not in {*_SILENT, "id"}]
    return {name: (old.get(name), new.get(name)) for name in names if old.get(name) != new.get(name)}


def _last(record: Record) -> Action:
    rows = record.rows(f"{_ACTION} AND a.by = 'keeper' AND a.undoes IS NULL ORDER BY a.id DESC")
    for row in rows:
        found = _action(record, row)
        if not found.undone:
            return found
    raise EntryError("there is no entry to take back.")


def _require_action(record: Record, number: int) -> Action:
    row = record.row(f"{_ACTION} AND a.id = ?", (number,))
    if row is None:
        raise EntryError(f"there is no entry {number}; nestwatch undo SITE --list shows them.")
    return _action(record, row)


def _action(record: Record, row: sqlite3.Row) -> Action:
    return Action(
        row["id"],
        read(row["at"]),
        row["by"],
        row["words"],
        row["undoes"],
        _is_undone(record, row["undone_by"]),
    )


def _is_undone(record: Record, by: int | None) -> bool:
    """Whether an action last taken back by action `by` is so still: that may have been taken back itself."""
    undone = False
    while by is not None:
        undone = not undone
        found = record.row("SELECT max(id) AS later FROM action WHERE undoes = ?", (by,))
        by = None if found is None else found["later"]
    return undone
