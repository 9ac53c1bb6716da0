"""Cameras found in a folder of recordings: one a sub-folder, with the pattern of its names and its clock."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from nestwatch.errors import FootageError
from nestwatch.footage import propose_stamp
from nestwatch.footage.listing import STILL, VIDEO
from nestwatch.footage.opening import CannotRead, opened
from nestwatch.footage.probe import glance
from nestwatch.footage.stamps import natural_key, read_stamp
from nestwatch.footage.stills import still_head
from nestwatch.site.names import check_name

_TRIED = 200  # file names looked at for the pattern
_OPENED = 8  # files opened for size and clock
_NEAR = timedelta(minutes=5)  # a container's time may be that of the file's end or start


@dataclass(frozen=True, slots=True)
class FoundCamera:
    """A camera as its folder shows it.

    `folder` is absolute. `stamp`: None where the names tell no time. `clock` as in the site file. `picture`:
    (width, height). `files`: how many recordings. `unread`: of the names tried, how many `stamp` cannot read.
    """

    name: str
    folder: Path
    stamp: str | None
    clock: str
    picture: tuple[int, int]
    files: int
    unread: int


def find_cameras(folder: Path, timezone: str) -> list[FoundCamera]:
    """Every sub-folder with recordings is a camera; the folder itself where recordings lie in it directly.

    A folder whose sub-folders are named by dates is one camera. Raises `FootageError` in one line.
    """
    if not folder.is_dir():
        raise FootageError(f"{folder}: there is no such folder; name the one that holds the recordings.")
    places = list(_places(folder))
    if not places:
        raise FootageError(
            f"{folder}: no video and no JPEG picture in it or its sub-folders; name another folder."
        )
    cameras = [_camera(place, files, timezone) for place, files in places]
    _require_different(cameras)
    return cameras


def _places(folder: Path) -> Iterator[tuple[Path, list[Path]]]:
    """Folders that are cameras, with their recordings in the order of their names."""
    below = [path for path in sorted(folder.iterdir()) if path.is_dir() and not path.name.startswith(".")]
    directly = any(_is_recording(path) for path in folder.iterdir())
    if directly or (below and all(_is_date(path.name) for path in below)):
        below = [folder]
    for place in below:
        files = _recordings(place)
        if files:
            yield place, files


def _recordings(folder: Path) -> list[Path]:
    found = [path for path in folder.rglob("*") if _is_recording(path)]
    return sorted(found, key=lambda path: natural_key(path.relative_to(folder).as_posix()))


def _is_recording(path: Path) -> bool:
    return path.suffix.lower() in VIDEO | STILL and not path.name.startswith(".") and path.is_file()


def _is_date(name: str) -> bool:
    """Digits of a day, such as 2026-06-12 or 20260612, and nothing else that could be a camera's name."""
    digits = "".join(letter for letter in name if letter.isdigit())
    return len(digits) in {6, 8} and not any(letter.isalpha() for letter in name)


def _camera(folder: Path, files: Sequence[Path], timezone: str) -> FoundCamera:
    tried = _spread(files, _TRIED)
    stamp, unread = _stamp(tried)
    return FoundCamera(
        name=_name(folder),
        folder=folder.resolve(),
        stamp=stamp,
        clock=_clock(_spread(files, _OPENED), stamp, timezone),
        picture=_picture(folder, _spread(files, _OPENED)),
        files=len(files),
        unread=unread,
    )


def _spread(files: Sequence[Path], most: int) -> list[Path]:
    """Some of the files, evenly over all of them."""
    step = max(1, len(files) // most)
    return list(files[::step][:most])


def _stamp(files: Sequence[Path]) -> tuple[str | None, int]:
    """The pattern that reads most names, and how many it does not read."""
    stems = [path.stem for path in files]
    proposed = Counter(pattern for stem in stems if (pattern := propose_stamp(stem)))
    if not proposed:
        return None, len(stems)
    unread = {pattern: sum(read_stamp(stem, pattern) is None for stem in stems) for pattern in proposed}
    best = min(proposed, key=lambda pattern: (unread[pattern], -proposed[pattern]))
    return best, unread[best]


def _name(folder: Path) -> str:
    """The folder's name, without what a file name cannot hold."""
    plain = folder.resolve().name or "camera"
    try:
        return check_name(plain)
    except ValueError:
        kept = "".join(letter if letter.isalnum() or letter in " -_" else "-" for letter in plain)
        return kept.strip(" -.")[:60] or "camera"


def _picture(folder: Path, files: Sequence[Path]) -> tuple[int, int]:
    for path in files:
        try:
            return _size(path)
        except CannotRead:
            continue
    raise FootageError(f"{folder}: none of its recordings can be opened; check that they are whole.")


def _size(path: Path) -> tuple[int, int]:
    if path.suffix.lower() in STILL:
        head = still_head(path)
        return (head.width, head.height)
    with opened(path) as (_, stream):
        return (stream.codec_context.width, stream.codec_context.height)


def _clock(files: Sequence[Path], stamp: str | None, timezone: str) -> str:
    """What the names' clock is, by comparing them with the time (UTC) that recorders write into the file.

    "local" where nothing tells; that is also what most cameras keep (common practice, no source).
    """
    votes = Counter(clock for path in files if (clock := _vote(path, stamp, timezone)))
    return votes.most_common(1)[0][0] if votes else "local"


def _vote(path: Path, stamp: str | None, timezone: str) -> str | None:
    wall = read_stamp(path.stem, stamp) if stamp else None
    if wall is None or wall.tzinfo is not None or path.suffix.lower() in STILL:
        return None
    try:
        seen = glance(path)
    except CannotRead:
        return None
    if seen.created is None:
        return None
    for begun in (seen.created, seen.created - timedelta(seconds=seen.seconds or 0.0)):
        clock = _clock_at(wall, begun, timezone)
        if clock:
            return clock
    return None


def _clock_at(wall: datetime, utc: datetime, timezone: str) -> str | None:
    """ "utc" or "local" where a wall time is that of an instant by either clock, else None."""
    for clock, zone in (("local", ZoneInfo(timezone)), ("utc", ZoneInfo("UTC"))):
        if abs(wall - utc.astimezone(zone).replace(tzinfo=None)) <= _NEAR:
            return clock
    return None


def _require_different(cameras: Sequence[FoundCamera]) -> None:
    """Names that differ only in case would be one file on Windows and macOS."""
    seen: dict[str, FoundCamera] = {}
    for camera in cameras:
        other = seen.setdefault(camera.name.casefold(), camera)
        if other is not camera:
            raise FootageError(
                f'two folders would give cameras with one name, "{camera.name}": {other.folder} and '
                f"{camera.folder}; rename one of them."
            )
