"""Where SQLite's errors become `RecordError`, told apart by their codes (sqlite.org/rescode.html)."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from nestwatch.errors import NestwatchError, RecordError


class Damaged(RecordError):
    """The file is no sound SQLite database."""


_WHY = {
    sqlite3.SQLITE_BUSY: "is in use by another program; close other nestwatch windows, wait a moment and try "
    "again",
    sqlite3.SQLITE_LOCKED: "is in use by another program; wait a moment and try again",
    sqlite3.SQLITE_READONLY: "is read-only; allow writing to the file and its folder, then try again",
    sqlite3.SQLITE_PERM: "may not be written by you; ask whoever owns the folder",
    sqlite3.SQLITE_FULL: "cannot grow: the disk is full; free some space and try again",
    sqlite3.SQLITE_CANTOPEN: "cannot be opened; check who may read and write its folder, and that its disk "
    "is connected",
    sqlite3.SQLITE_IOERR: "cannot be read or written: the disk refuses (full, failing or disconnected, or a "
    "network drive that went away); check the disk and try again",
    sqlite3.SQLITE_NOLFS: "has grown larger than this disk's file system allows",
    sqlite3.SQLITE_AUTH: "may not be opened by you; ask whoever owns the folder",
}
_DAMAGED = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}
_NOTHING = "What was being entered was not taken; all that was confirmed before is safe."


@contextmanager
def record_errors(path: Path) -> Iterator[None]:
    """Raises `RecordError` in place of any error of SQLite or the disk, `Damaged` for a file that is broken.

    A constraint that fails is a fault of the program and passes: entries are checked before they are written.
    """
    try:
        yield
    except sqlite3.IntegrityError:
        raise
    except sqlite3.Error as error:
        raise _told(path, error) from error
    except OSError as error:
        full = error.errno in {errno.ENOSPC, errno.EDQUOT}
        why = _WHY[sqlite3.SQLITE_FULL] if full else f"cannot be used: {error.strerror or error}"
        raise RecordError(f"{path} {why}.") from error


def primary_code(error: sqlite3.Error) -> int | None:
    """SQLite's primary result code, None where the error does not come from SQLite itself."""
    code = getattr(error, "sqlite_errorcode", None)
    return None if code is None else code & 0xFF


def _told(path: Path, error: sqlite3.Error) -> NestwatchError | sqlite3.Error:
    code = primary_code(error)
    if code in _DAMAGED:
        return Damaged(f"{path} is damaged ({error})")
    if not path.parent.is_dir():
        return RecordError(
            f"{path.parent} is gone; connect its disk (or put the folder back) and try again. {_NOTHING}"
        )
    why = _WHY.get(code or 0)
    return error if why is None else RecordError(f"{path} {why}. {_NOTHING}")
