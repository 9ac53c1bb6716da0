"""The door to the record: opening it safely, and the one way to write into it."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Literal
from zoneinfo import ZoneInfo

from nestwatch.errors import ChangedMeanwhile, RecordError
from nestwatch.season.backups import FOLDER, back_up, newest_whole
from nestwatch.season.clock import Clock, clock_of, utc_now
from nestwatch.season.drive import network_note
from nestwatch.season.migrations import APPLICATION_ID, migrate, newest, version_of
from nestwatch.season.troubles import Damaged, record_errors

if TYPE_CHECKING:
    from nestwatch.site.records import Site

NAME = "record.sqlite"
WAIT_S = 10.0
"""So long another process's transaction is waited for."""

Values = Mapping[str, str | int | float | None]


class Record:
    """An open record. Use it as a context manager; it may not cross threads.

    `path`: the file. `zone`: the site's time zone, in which keepers type. `notes`: lines to be shown once (a
    network drive). `clock` gives the time now; tests set it. Made by `open_record`.
    """

    def __init__(
        self,
        path: Path,
        zone: ZoneInfo,
        connection: sqlite3.Connection,
        *,
        notes: tuple[str, ...] = (),
        clock: Clock = utc_now,
    ) -> None:
        self.path, self.zone, self.notes, self.clock = path, zone, notes, clock
        self._connection = connection

    def __enter__(self) -> Record:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; the record cannot be used any more."""
        self._connection.close()

    def rows(self, sql: str, values: Sequence[Any] = ()) -> list[sqlite3.Row]:
        """All rows of a query; raises `RecordError`."""
        with _offering(self.path):
            return self._connection.execute(sql, values).fetchall()

    def row(self, sql: str, values: Sequence[Any] = ()) -> sqlite3.Row | None:
        """The first row of a query, None where there is none."""
        found = self.rows(sql, values)
        return found[0] if found else None

    @contextmanager
    def writing(
        self, words: str, *, by: Literal["keeper", "scan"] = "keeper", undoes: int | None = None
    ) -> Iterator[Writer]:
        """One action: all of it is written, on the disk when the block ends, or nothing is.

        `words`: what is done, as the journal tells it; `Writer.words` may still be changed inside. What is
        read inside cannot change before it is written. Raises `RecordError`, also for the block's `OSError`.
        """
        with _offering(self.path):
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                action = self._begin(words, by, undoes)
                writer = Writer(self._connection, action, words)
                yield writer
                self._connection.execute(
                    "UPDATE action SET under_way = 0, words = ? WHERE id = ?", (writer.words, action)
                )
                self._connection.execute("COMMIT")
            except BaseException:
                # SQLite has rolled back by itself after a full disk or a lost drive.
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise

    def _begin(self, words: str, by: str, undoes: int | None) -> int:
        at = self.clock().astimezone(UTC).isoformat(timespec="microseconds")
        cursor = self._connection.execute(
            "INSERT INTO action (at, by, words, undoes) VALUES (?, ?, ?, ?)", (at, by, words, undoes)
        )
        return int(cursor.lastrowid or 0)

    def back_up(self, occasion: str) -> Path:
        """Copy the whole record into `record-backups/`; returns the copy. Raises `RecordError`."""
        return back_up(self._connection, self.path, occasion, self.clock())

    def column_names(self, table: str) -> list[str]:
        """A table's columns."""
        return [row["name"] for row in self.rows(f"PRAGMA table_info({table})")]


class Writer:
    """Writes rows inside `Record.writing`. Table and column names are the program's own, never typed ones."""

    def __init__(self, connection: sqlite3.Connection, action: int, words: str) -> None:
        self._connection, self.action, self.words = connection, action, words

    def add(self, table: str, values: Values) -> int:
        """A new row; returns its number."""
        names = ", ".join(values)
        marks = ", ".join("?" * len(values))
        cursor = self._connection.execute(
            f"INSERT INTO {table} ({names}) VALUES ({marks})", list(values.values())
        )
        return int(cursor.lastrowid or 0)

    def change(self, table: str, row: int, values: Values) -> None:
        """New values for a row; its version goes up by one."""
        sets = ", ".join(f"{name} = ?" for name in values)
        self._connection.execute(
            f"UPDATE {table} SET {sets}, version = version + 1 WHERE id = ?", [*values.values(), row]
        )

    def remove(self, table: str, row: int) -> None:
        """Take a row away; the journal keeps it."""
        self._connection.execute(f"DELETE FROM {table} WHERE id = ?", (row,))

    def run(self, sql: str, values: Sequence[Any]) -> None:
        """Any other statement of the program."""
        self._connection.execute(sql, values)


def require_version(seen: int | None, now: int, what: str) -> None:
    """Raises `ChangedMeanwhile` unless the entry is still as it was shown.

    `seen`: the version that was shown, 0 where there was no entry yet, None to write over whatever is there.
    `what`: the entry as it is now, in words.
    """
    if seen is not None and seen != now:
        raise ChangedMeanwhile(
            f"this was changed meanwhile, and is now: {what}. Look again, then enter again."
        )


def open_record(site: Site, *, clock: Clock | None = None, check_damage: bool = True) -> Record:
    """The record of a site, made where there is none yet. Raises `RecordError`; nothing is lost then.

    `clock` None: the time now, or that of a demo in its folder.

    `check_damage` False leaves the check of the whole file out, for a process that made it already (a page
    opens the record anew for each request).
    """
    zone = ZoneInfo(site.timezone)
    return open_file(record_path(site), zone, clock=clock or clock_of(site), check_damage=check_damage)


def record_path(site: Site) -> Path:
    """Where the site's record is, or would be."""
    return site.path.parent / NAME


def open_file(
    path: Path,
    zone: ZoneInfo,
    *,
    clock: Clock = utc_now,
    check_damage: bool = True,
) -> Record:
    """As `open_record`, for a file's path."""
    _refuse_lost(path)
    note = network_note(path.parent) if check_damage else None
    with _offering(path):
        connection = _connected(path)
        try:
            _prepare(connection, path, clock, check_damage=check_damage)
        except BaseException:
            connection.close()
            raise
    return Record(path, zone, connection, notes=() if note is None else (note,), clock=clock)


def _connected(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(path, timeout=WAIT_S, isolation_level=None)
    connection.row_factory = sqlite3.Row
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = EXTRA")
    return connection


def _prepare(connection: sqlite3.Connection, path: Path, clock: Clock, *, check_damage: bool) -> None:
    """Refuse what is not ours, damaged or newer; bring an older file up to date, backed up before."""
    version = _require_ours(connection, path)
    if check_damage:
        _require_sound(connection, path)
    connection.execute("PRAGMA journal_mode = DELETE")
    if version == newest():
        return
    if version:
        back_up(connection, path, "migration", clock())
    migrate(connection)


def _require_ours(connection: sqlite3.Connection, path: Path) -> int:
    """The file's version; raises `RecordError` where it is another program's or a newer one's."""
    version, ours, tables = _what_it_is(connection)
    if not ours and (version or tables):
        raise RecordError(f"{path} is a database of another program; move it away and run again.")
    if version > newest():
        raise RecordError(
            f"{path} was written by a newer nestwatch (record version {version}, this one knows up to "
            f"{newest()}); update nestwatch. Nothing was changed."
        )
    return version


def _what_it_is(connection: sqlite3.Connection) -> tuple[int, bool, int]:
    """(version, whether nestwatch made it, how many tables and the like it has), all of one moment.

    One transaction, as another process may make the file's tables between two reads: a file that was empty
    at the first and full at the second would seem another program's.
    """
    connection.execute("BEGIN")
    try:
        version = version_of(connection)
        ours = connection.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
        tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    finally:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
    return version, ours, tables


def _require_sound(connection: sqlite3.Connection, path: Path) -> None:
    found = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if found != "ok":
        raise Damaged(f"{path} is damaged ({found})")


def _refuse_lost(path: Path) -> None:
    """A record that is gone or empty while its copies are there: a new one must not take its place."""
    if path.is_file() and path.stat().st_size:
        return
    copy = newest_whole(path)
    if copy is not None:
        raise RecordError(
            f"{path} is {'empty' if path.is_file() else 'gone'}, but {FOLDER} holds copies of it. "
            f"{_how_to_restore(copy)} To begin a new record instead, move {FOLDER} away."
        )


@contextmanager
def _offering(path: Path) -> Iterator[None]:
    """As `record_errors`; a damaged file's message names the newest whole copy."""
    try:
        with record_errors(path):
            yield
    except Damaged as error:
        raise RecordError(_offer(path, str(error))) from error


def _offer(path: Path, damage: str) -> str:
    copy = newest_whole(path)
    if copy is None:
        return (
            f"{damage}. Nothing was changed, and {FOLDER} holds no whole copy of it. Keep the file for "
            "somebody who can look into it; move it away to begin a new record."
        )
    return f"{damage}. Nothing was changed. {_how_to_restore(copy)}"


def _how_to_restore(copy: Path) -> str:
    return (
        f"The newest whole copy is {copy.name}; to go on with it: nestwatch record SITE --restore {copy.name}"
    )
