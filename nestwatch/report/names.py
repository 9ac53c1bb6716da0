"""What a night's pictures and clips are called, and clearing away those that no report names any more.

A name is made from what the picture shows (camera, local time, place), never from a rank: a rank may belong
to another dig in the next run, whose picture would then stand under the words of the old report.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from contextlib import suppress
from datetime import datetime, tzinfo
from pathlib import Path

from nestwatch.report.files import file_name
from nestwatch.site.records import Point

FOLDERS = ("pictures", "clips")
_OURS = re.compile(r"[a-z0-9_-]+(_\d{6}_(\d+x\d+|frame)(_[a-z]+)?\.(jpg|mp4)|-seen\.jpg)")
_LEFT_OVER = re.compile(r"\..+\.\d+\.part")


def picture_stem(camera: str, at: datetime, place: Point | None, local: tzinfo) -> str:
    """`sandbank_215530_271x227`: camera, local time, (x, y) picture pixel; `frame` for no place."""
    where = "frame" if place is None else f"{max(place[0], 0):.0f}x{max(place[1], 0):.0f}"
    return f"{file_name(camera)}_{at.astimezone(local):%H%M%S}_{where}"


def clear_away(folder: Path, named: Collection[str]) -> None:
    """Remove the night's pictures and clips that are not `named` (paths relative to `folder`), and temporary
    files of runs that were killed.

    Call it where no other run can be writing. Only files with names of our making are touched; one that
    cannot be removed (a viewer holds it open on Windows) is left for the next run.
    """
    for path in (path for part in FOLDERS for path in sorted((folder / part).glob("*"))):
        if _OURS.fullmatch(path.name) and path.relative_to(folder).as_posix() not in named:
            _remove(path)
    for part in (".", "work", *FOLDERS):
        for path in sorted((folder / part).glob(".*.part")):
            if _LEFT_OVER.fullmatch(path.name):
                _remove(path)


def _remove(path: Path) -> None:
    with suppress(OSError):
        path.unlink()
