"""Copies of the record: made by SQLite's own backup, kept in number, and gone back to.

They lie in `record-backups/` beside the record and are named by time and occasion. A copy gets its name only
when it is whole and on the disk.
"""

from __future__ import annotations

import math
import os
import re
import sqlite3
from contextlib import closing, suppress
from datetime import UTC, datetime
from pathlib import Path

from nestwatch.errors import RecordError
from nestwatch.season.troubles import record_errors
from nestwatch.writing import flush, staged

FOLDER = "record-backups"
NEWEST = 14
"""So many of the newest copies are kept, whatever their age."""
MONTHS = 12
"""And the last one of each of so many months."""
DAY_S = 86400.0

_NAME = re.compile(r"record-(\d{8}T\d{6})(\d{6})Z-(\w+)\.sqlite")


def back_up(connection: sqlite3.Connection, path: Path, occasion: str, now: datetime) -> Path:
    """Copy the record at `path`, open as `connection`; returns the copy. Old copies beyond the kept ones go.

    `occasion`: a word for the name (`night`, `migration`). Raises `RecordError`; no half copy stays.
    """
    target = path.parent / FOLDER / f"record-{now.astimezone(UTC):%Y%m%dT%H%M%S%f}Z-{occasion}.sqlite"
    with record_errors(target):
        target.parent.mkdir(exist_ok=True)
        with staged(target) as fresh, closing(sqlite3.connect(fresh)) as copy:
            connection.backup(copy)
    _clear(path, now)
    return target


def backups(path: Path) -> list[Path]:
    """Copies of the record at `path`, the newest first."""
    folder = path.parent / FOLDER
    found = folder.iterdir() if folder.is_dir() else ()
    return sorted((each for each in found if _NAME.fullmatch(each.name)), key=lambda p: p.name, reverse=True)


def newest_whole(path: Path) -> Path | None:
    """The newest copy that passes SQLite's integrity check; None where there is none."""
    return next((copy for copy in backups(path) if is_whole(copy)), None)


def is_whole(path: Path) -> bool:
    """Whether a database passes SQLite's integrity check. It is opened for reading only."""
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as connection:
            return [row[0] for row in connection.execute("PRAGMA integrity_check(1)")] == ["ok"]
    except sqlite3.Error:
        return False


def restore(path: Path, copy: Path, now: datetime) -> Path | None:
    """Put `copy` in the record's place; the former file is moved aside, never deleted.

    Returns where the former file lies now, None where there was none. Raises `RecordError`.
    """
    if not is_whole(copy):
        raise RecordError(f"{copy} is damaged too, or is no record; choose another backup.")
    with record_errors(path), staged(path) as fresh:
        fresh.write_bytes(copy.read_bytes())
        flush(fresh)  # before the former file leaves its place
        aside = _move_aside(path, f"{now.astimezone(UTC):%Y%m%dT%H%M%SZ}")
    return aside


def _move_aside(path: Path, stamp: str) -> Path | None:
    """The record with its rollback journal, which belongs to it: beside a new file it would spoil that."""
    aside = path.with_name(f"{path.stem}-set-aside-{stamp}{path.suffix}")
    journal = path.with_name(f"{path.name}-journal")
    if journal.exists():
        os.replace(journal, aside.with_name(f"{aside.name}-journal"))
    if not path.exists():
        return None
    os.replace(path, aside)
    return aside


def to_forget(names: list[str]) -> list[str]:
    """Which of the copies (newest first) need not be kept any more."""
    months: dict[str, str] = {}
    for name in names:
        months.setdefault(name[: len("record-202606")], name)
    kept = {*names[:NEWEST], *list(months.values())[:MONTHS]}
    return [name for name in names if name not in kept]


def _clear(path: Path, now: datetime) -> None:
    """Remove copies that need not be kept, and halves that a killed process left a day ago."""
    folder = path.parent / FOLDER
    halves = [each for each in folder.glob(".record-*.part") if now.timestamp() - _written_at(each) > DAY_S]
    for each in [*(folder / name for name in to_forget([copy.name for copy in backups(path)])), *halves]:
        with suppress(OSError):
            each.unlink()


def _written_at(path: Path) -> float:
    """When a file was written, in seconds since 1970; never for one that went meanwhile."""
    try:
        return path.stat().st_mtime
    except OSError:
        return math.inf
