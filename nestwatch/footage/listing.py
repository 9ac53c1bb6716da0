"""The files of a camera's folder, and when each starts as far as name, header or disk tell."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from pathlib import Path

from nestwatch.errors import FootageError, SiteError
from nestwatch.footage.clocks import both_rounds, clock_zone
from nestwatch.footage.opening import CannotRead
from nestwatch.footage.probe import glance
from nestwatch.footage.stamps import natural_key, propose_stamp, read_stamp
from nestwatch.footage.stills import still_head
from nestwatch.site.records import Camera

_ENDINGS = (
    "mp4 mkv avi ts mov m4v mts m2ts webm flv mpg mpeg 3gp wmv asf h264 264 h265 265 hevc mjpeg mjpg dav"
)
VIDEO = frozenset(f".{ending}" for ending in _ENDINGS.split())
STILL = frozenset({".jpg", ".jpeg"})


@dataclass(frozen=True, slots=True)
class File:
    """One file of the camera. `name` is relative to the camera's folder, with forward slashes."""

    path: Path
    name: str

    @property
    def is_still(self) -> bool:
        """A picture, not a video."""
        return self.path.suffix.lower() in STILL


@dataclass(frozen=True, slots=True)
class Started:
    """A file with its start: `rounds` are the two instants (UTC) it may mean, mostly the same.

    `by` is what told: "name", "file" (container or EXIF) or "disk" (modification time).
    """

    file: File
    rounds: tuple[datetime, datetime]
    by: str


@dataclass(frozen=True, slots=True)
class Lost:
    """A file whose start cannot be told, with the reason; `unreadable` where it cannot be opened either."""

    file: File
    why: str
    unreadable: bool


def list_files(camera: Camera) -> list[File]:
    """Videos and pictures under the camera's folder, in file order (`clip9` before `clip10`).

    Names that begin with a dot are other programs' business. `SiteError` without the folder,
    `FootageError` without any file.
    """
    folder = camera.footage
    if not folder.is_dir():
        raise SiteError(
            f'camera "{camera.name}": the footage folder {folder} does not exist; '
            "correct `footage` in the site file or connect the disk."
        )
    files = [_file(path, folder) for path in folder.rglob("*") if path.suffix.lower() in VIDEO | STILL]
    files = [file for file in files if not file.path.name.startswith(".") and file.path.is_file()]
    if not files:
        raise FootageError(
            f'camera "{camera.name}": no video and no JPEG picture in {folder} or its sub-folders; '
            "copy the recordings there or correct `footage` in the site file."
        )
    return sorted(files, key=lambda file: natural_key(file.name))


def _file(path: Path, folder: Path) -> File:
    return File(path, path.relative_to(folder).as_posix())


@dataclass(frozen=True, slots=True)
class Placer:
    """Tells when files start, by one camera's stamp and clock."""

    stamp: str | None
    zone: tzinfo
    error: timedelta
    trust_mtime: bool

    def place(self, file: File) -> Started | Lost:
        """The start of one file, or why it cannot be told."""
        wall = read_stamp(file.path.stem, self.stamp) if self.stamp else None
        if wall is not None:
            return self._started(file, wall, "name")
        try:
            inner, seconds = _inside(file)
        except CannotRead as error:
            return Lost(file, f"{error}; {_no_start(self.stamp, file)}", unreadable=True)
        if inner is not None:
            return self._started(file, inner, "file")
        if self.trust_mtime:
            return _by_disk(file, seconds)
        return Lost(file, _no_start(self.stamp, file), unreadable=False)

    def _started(self, file: File, wall: datetime, by: str) -> Started:
        first, second = both_rounds(wall, self.zone)
        return Started(file, (first - self.error, second - self.error), by)


def placer_of(camera: Camera, timezone_name: str, *, trust_mtime: bool) -> Placer:
    """`SiteError` where the clock or the time zone is unknown."""
    zone = clock_zone(camera.clock, timezone_name)
    return Placer(camera.stamp, zone, timedelta(seconds=camera.clock_error_s), trust_mtime)


def _inside(file: File) -> tuple[datetime | None, float]:
    """(time written inside the file, its length in seconds)."""
    if file.is_still:
        return still_head(file.path).taken, 0.0
    seen = glance(file.path)
    return seen.created, seen.seconds or 0.0


def _by_disk(file: File, seconds: float) -> Started:
    """A file is last written when its recording ends."""
    start = datetime.fromtimestamp(file.path.stat().st_mtime, UTC) - timedelta(seconds=seconds)
    return Started(file, (start, start), "disk")


def _no_start(stamp: str | None, file: File) -> str:
    told = f'the name does not match stamp = "{stamp}"' if stamp else "the site file has no `stamp`"
    what = "EXIF time" if file.is_still else "creation time"
    proposed = propose_stamp(file.path.stem)
    advice = f'stamp = "{proposed}" would read it' if proposed else "its digits tell no date and time"
    return f"when it starts is unknown: {told} and it holds no {what}; {advice}"
