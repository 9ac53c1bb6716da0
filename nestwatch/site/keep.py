"""Replacing a file that people write in: only if it is still as it was read, and the former one stays."""

from __future__ import annotations

import errno
import hashlib
import os
import re
import shutil
from contextlib import suppress
from pathlib import Path

from nestwatch.errors import OutputError, SiteError
from nestwatch.writing import staged

KEPT = 20
"""So many former versions stay beside the file."""


def fingerprint(content: bytes) -> str:
    """What tells whether a file is still the same."""
    return hashlib.sha256(content).hexdigest()


def replace_kept(path: Path, content: bytes, *, seen: str) -> Path:
    """Put `content` in place of `path` all at once; returns where the former version lies now.

    `seen` is the `fingerprint` of the file when it was read. Raises `SiteError` where it changed since or is
    gone, `OutputError` where it may not be written or the disk refuses; the file is then as it was.
    """
    target = Path(os.path.realpath(path))  # a link stays a link
    former = require_same(target, seen)
    if not os.access(target, os.W_OK):
        raise OutputError(f"{path} is read-only; allow writing to it, then save again.")
    try:
        kept = _next_kept(target)
        with staged(kept) as copy:
            _write(copy, former, target)
        with staged(target) as fresh:
            _write(fresh, content, target)
            require_same(target, seen)
    except OSError as error:
        raise OutputError(f"cannot write beside {path}: {_why(error)}; then save again.") from error
    _clear(target)
    return kept


def write_new(path: Path, content: bytes) -> None:
    """Write a file that must not be there yet; raises `OutputError`, never overwrites."""
    if path.exists():
        raise OutputError(f"{path} is there already and is not overwritten; choose another name.")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with staged(path) as fresh:
            fresh.write_bytes(content)
    except OSError as error:
        raise OutputError(f"cannot write {path}: {_why(error)}.") from error


def require_same(path: Path, seen: str) -> bytes:
    """The content of a file that has not changed since it had the fingerprint `seen`; else `SiteError`."""
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        raise SiteError(f"{path} is gone since the page was opened; put it back, then save again.") from None
    except OSError as error:
        raise SiteError(f"{path} cannot be read ({error.strerror}); then nothing is saved.") from error
    if fingerprint(content) != seen:
        raise SiteError(
            f"{path} was changed by another program since the page was opened, so nothing is saved; keep a "
            "copy of the drawing as text, load the page again and draw once more what is missing."
        )
    return content


def _write(path: Path, content: bytes, like: Path) -> None:
    path.write_bytes(content)
    shutil.copymode(like, path)


def _kept(path: Path) -> dict[int, Path]:
    """Former versions by number, as they lie beside the file."""
    form = re.compile(rf"{re.escape(path.name)}\.before-(\d+)")
    found = ((form.fullmatch(other.name), other) for other in path.parent.iterdir())
    return {int(match[1]): other for match, other in found if match}


def _next_kept(path: Path) -> Path:
    return path.with_name(f"{path.name}.before-{max(_kept(path), default=0) + 1}")


def _clear(path: Path) -> None:
    for number in sorted(_kept(path))[:-KEPT]:
        with suppress(OSError):
            _kept(path)[number].unlink()


def _why(error: OSError) -> str:
    if error.errno in {errno.ENOSPC, errno.EDQUOT}:
        return "the disk is full; free some space"
    if error.errno in {errno.EROFS, errno.EACCES, errno.EPERM}:
        return "the folder is read-only, or another program holds the file; allow writing there"
    return f"{error.strerror or error}; check the disk"
