"""Putting a file in place all at once: written beside its place, flushed, then moved there.

What a refused write is called is the caller's to say; here an `OSError` stays one.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path


def beside(path: Path) -> Path:
    """Where this process writes the new content of `path` first: a hidden file in the same folder."""
    return path.with_name(f".{path.name}.{os.getpid()}.part")


def flush(path: Path) -> None:
    """Have a file's content on the disk: without it a power cut after the move may leave an empty file."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def forget(path: Path) -> None:
    """Remove a file if it is there and may be removed."""
    with suppress(OSError):
        path.unlink()


@contextmanager
def staged(path: Path) -> Iterator[Path]:
    """Give a temporary path beside `path`; put it in place when the block ends well, remove it otherwise.

    The folder must be there. Raises `OSError`; `path` is then as it was.
    """
    temporary = beside(path)
    try:
        yield temporary
        flush(temporary)
        os.replace(temporary, path)
    finally:
        forget(temporary)
