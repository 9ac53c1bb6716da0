"""From an empty or an older file to the tables of today, one numbered step after the other.

`schema/NNN.sql` leads from version NNN-1 to NNN; the file's version is SQLite's `user_version`. All steps,
the triggers and the new version are one transaction: a kill leaves the old version whole.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from importlib import resources

APPLICATION_ID = 0x6E657374  # "nest"
INCUBATION = ("container", "egg", "probe", "readings", "inspection", "weighing", "hatching", "growth")
JOURNALLED = ("night", "footage", "dig", "find", "female", "clutch", "watched", *INCUBATION, "likelihood_fit")
"""Tables whose every change is kept in `change`."""


def newest() -> int:
    """The version this program writes."""
    return len(_scripts())


def version_of(connection: sqlite3.Connection) -> int:
    """The file's version; 0 for an empty file."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def migrate(connection: sqlite3.Connection) -> None:
    """Bring the file to the newest version. Another process that does the same at once is waited for."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        for script in _scripts()[version_of(connection) :]:
            for statement in statements(script):
                connection.execute(statement)
        for statement in triggers(connection):
            connection.execute(statement)
        connection.execute(f"PRAGMA user_version = {newest()}")
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def statements(script: str) -> Iterator[str]:
    """The single statements of a script (`executescript` would end our transaction)."""
    gathered = ""
    for line in script.splitlines(keepends=True):
        gathered += line
        if sqlite3.complete_statement(gathered):
            yield gathered
            gathered = ""
    if gathered.strip():
        raise ValueError(f"a script ends inside a statement: {gathered.strip()!r}")


def triggers(connection: sqlite3.Connection) -> Iterator[str]:
    """Statements that put triggers on every journalled table, made from the columns it has now."""
    for table in JOURNALLED:
        for event, number, before in (
            ("insert", "NEW.id", "NULL"),
            ("update", "OLD.id", row_json(connection, table, "OLD.")),
            ("delete", "OLD.id", row_json(connection, table, "OLD.")),
        ):
            name = f"{table}_{event}_kept"
            yield f"DROP TRIGGER IF EXISTS {name}"
            yield (
                f"CREATE TRIGGER {name} AFTER {event} ON {table} BEGIN "
                "INSERT INTO change (action, entry, row, before) VALUES "
                f"((SELECT id FROM action WHERE under_way = 1), '{table}', {number}, {before}); END"
            )


def row_json(connection: sqlite3.Connection, table: str, of: str = "") -> str:
    """An SQL expression for a whole row as a JSON object. `of`: `OLD.` or nothing."""
    pairs = ", ".join(f"'{name}', {of}{name}" for name in columns(connection, table))
    return f"json_object({pairs})"


def columns(connection: sqlite3.Connection, table: str) -> list[str]:
    """A table's columns, in their order."""
    return [row[1] for row in connection.execute(f"PRAGMA table_info({table})")]


def _scripts() -> list[str]:
    folder = resources.files("nestwatch.season") / "schema"
    found = sorted((each for each in folder.iterdir() if each.name.endswith(".sql")), key=lambda e: e.name)
    return [each.read_text(encoding="utf-8") for each in found]
