"""Writing so that a kill, a full disk or a closed folder never leaves half a file behind."""

from __future__ import annotations

import errno
import hashlib
import os
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

import av.error

from nestwatch.errors import OutputError
from nestwatch.writing import beside, flush, forget, staged

# Windows gives this error also for a file that another program holds open: a spreadsheet does.
_CLOSED = "no permission, or another program has it open; close that or choose another folder with --out"
_REMEDIES = {
    errno.ENOSPC: "the disk is full; free some space and run again",
    errno.EDQUOT: "your share of the disk is used up; free some space and run again",
    errno.EACCES: _CLOSED,
    errno.EPERM: _CLOSED,
    errno.EROFS: "that disk is read-only; choose another folder with --out",
    errno.EEXIST: "a file is in the way where a folder is needed; choose another folder with --out",
    errno.ENOTDIR: "a file is in the way where a folder is needed; choose another folder with --out",
    errno.EISDIR: "a folder is in the way of the file; move it away and run again",
}


@contextmanager
def output_errors(path: Path) -> Iterator[None]:
    """The one place where a failed write becomes an `OutputError` naming `path` and what to do next."""
    try:
        yield
    except (OSError, av.error.FFmpegError) as error:
        why = _REMEDIES.get(error.errno or 0)
        if why is None:
            why = f"{error.strerror or error}; check the disk and run again"
        raise OutputError(f"cannot write {path}: {why}") from error


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """Give a temporary path beside `path`; put it in place when the block ends well, remove it otherwise."""
    with output_errors(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        with staged(path) as temporary:
            yield temporary


def write_bytes(path: Path, content: bytes) -> None:
    """Write `content` to `path` all at once or not at all; raises `OutputError`."""
    with replacing(path) as temporary:
        temporary.write_bytes(content)


def write_together(folder: Path, contents: Mapping[str, bytes]) -> None:
    """Write several files of `folder`, replacing none of the old ones until every new one is on the disk.

    They are put in place in the order of `contents`: the last one's presence tells that all are there.
    """
    staged = {folder / name: beside(folder / name) for name in contents}
    try:
        for (path, temporary), content in zip(staged.items(), contents.values(), strict=True):
            with output_errors(path):
                path.parent.mkdir(parents=True, exist_ok=True)
                temporary.write_bytes(content)
                flush(temporary)
        for path, temporary in staged.items():
            with output_errors(path):
                os.replace(temporary, path)
    finally:
        for temporary in staged.values():
            forget(temporary)


def file_name(name: str) -> str:
    """A name that every file system takes, made from a camera's name; different names never meet.

    Plain lower-case names are kept; anything else gets a short fingerprint, since two names may differ only
    in letters that were replaced, or only in case (which Windows and macOS ignore).
    """
    plain = re.sub(r"[^a-z0-9_-]+", "-", name.lower()).strip("-")[:40]
    if plain == name and plain.upper() not in _RESERVED:
        return plain
    return f"{plain or 'camera'}-{hashlib.sha256(name.encode()).hexdigest()[:8]}"


# Device names that Windows refuses as file names, whatever their extension.
_RESERVED = {"CON", "PRN", "AUX", "NUL"} | {f"{port}{n}" for port in ("COM", "LPT") for n in range(1, 10)}
