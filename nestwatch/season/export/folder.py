"""The folder that an export goes into: what is there is kept, or all of an earlier export gives way."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from pathlib import Path

from nestwatch.errors import OutputError
from nestwatch.report.files import output_errors


def require_free(folder: Path, names: Collection[str], *, replace: bool, option: str = "--out") -> None:
    """Raises `OutputError` where one of the files is there already, unless they are to be replaced.

    `option`: the one that names the folder.
    """
    there = [name for name in names if (folder / name).exists()]
    if not there or replace:
        return
    more = f" and {len(there) - 1} more" if len(there) > 1 else ""
    raise OutputError(
        f"{folder} holds {there[0]}{more} already; choose another folder with {option}, or add --replace to "
        "write over them."
    )


def clear_earlier(folder: Path, tables: Collection[str], kept: Collection[str]) -> None:
    """Remove what an earlier export left and this one does not have: its `tables` (file names), its media.

    A table of another year beside the new ones would be taken for a part of them, and pictures that were
    public once would stay so. Only files with names of our making are touched. Raises `OutputError`.
    """
    for path in _of_our_making(folder, tables):
        if path.is_file() and path.relative_to(folder).as_posix() not in kept:
            with output_errors(path):
                path.unlink()


def _of_our_making(folder: Path, tables: Collection[str]) -> Iterator[Path]:
    yield from (folder / name for name in tables)
    yield from sorted(folder.glob("media/????-??-??/dig-*-*.*"))
