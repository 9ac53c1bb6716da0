"""A camera's folder -> the recordings of one night on the wall clock."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np

from nestwatch.errors import SiteError, StampError
from nestwatch.footage.clocks import settle
from nestwatch.footage.gather import still_runs
from nestwatch.footage.listing import Lost, Started, list_files, placer_of
from nestwatch.footage.opening import CannotRead
from nestwatch.footage.probe import Probe, Trials, glance, probe
from nestwatch.footage.records import Footage, Recording, Unreadable
from nestwatch.footage.stamps import natural_key
from nestwatch.site.records import Camera, NightHours

_LOOK_BACK = timedelta(hours=24)  # a recording is not longer than this
_LOOK_BACK_FILES = 30  # so many in a row end before the night: those before them do, too
_FRESH = timedelta(seconds=60)  # written to this recently: perhaps still being written
_LIVE = timedelta(minutes=2)  # a recording that ends this close to now is in progress
_PRE_ROLL = timedelta(seconds=30)
_SHAPE = 0.01  # relative difference of width/height that still counts as the same shape


@dataclass(slots=True)
class _Found:
    """What the search has come upon so far."""

    recordings: list[Recording] = field(default_factory=list)
    unreadable: list[Unreadable] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def find_footage(
    camera: Camera,
    hours: NightHours,
    timezone: str,
    *,
    trust_mtime: bool = False,
    now: datetime | None = None,
) -> Footage:
    """The recordings of `camera` that touch the night, placed on the wall clock.

    A recording starts at the time in its name (`camera.stamp`), else at its container's creation time (EXIF
    time for pictures), else, with `trust_mtime`, at its modification time less its length. Only files that
    may touch the night are opened. Files that cannot be read, or whose start is unknown, are listed in
    `unreadable`. A night without any recording gives a Footage without recordings.

    Raises `SiteError` (no folder, unknown clock, a picture of another shape), `FootageError` (no video in the
    folder at all), `StampError` (no file's start can be told).
    """
    now = now or datetime.now(UTC)
    placer = placer_of(camera, timezone, trust_mtime=trust_mtime)
    placed = [placer.place(file) for file in list_files(camera)]
    started = [one for one in placed if isinstance(one, Started)]
    lost = [one for one in placed if isinstance(one, Lost)]
    if not started and (unknown := [one for one in lost if not one.unreadable]):
        raise StampError(f'camera "{camera.name}": {unknown[0].file.name}: {unknown[0].why}.')
    found = _Found(unreadable=[Unreadable(one.file.name, one.why) for one in lost])
    _add_videos(found, [one for one in started if not one.file.is_still], hours, now)
    still_runs([one for one in started if one.file.is_still], hours, found.recordings, found.unreadable)
    return _footage(camera, hours, found, started)


def _add_videos(found: _Found, started: Sequence[Started], hours: NightHours, now: datetime) -> None:
    trials: Trials = {}
    looked: list[tuple[Started, Probe]] = []
    for one in _touching(started, hours):
        try:
            looked.append((one, _look(one, trials)))
        except CannotRead as error:
            why = f"still being written when read; {error}" if _fresh(one, now) else str(error)
            found.unreadable.append(Unreadable(one.file.name, why, one.rounds[0]))
    settled = settle([one.rounds for one, _ in looked], [float(seen.spans[-1, 1]) for _, seen in looked])
    for (one, seen), place in zip(looked, settled, strict=True):
        recording = _recording(one, seen, place.start, place.ambiguous)
        if recording.start < hours.end and recording.end > hours.start:
            found.recordings.append(recording)
            _note_unfinished(found, one, recording, now)


def _touching(started: Sequence[Started], hours: NightHours) -> list[Started]:
    """Files that may reach into the night, in file order."""
    inside = [one for one in started if one.rounds[0] < hours.end and one.rounds[1] >= hours.start]
    before = [one for one in started if one.rounds[1] < hours.start]
    before.sort(key=lambda one: one.rounds[1], reverse=True)
    chosen = [*inside, *_reaching(before, hours.start)]
    return sorted(chosen, key=lambda one: natural_key(one.file.name))


def _reaching(before: Sequence[Started], night: datetime) -> Iterator[Started]:
    """Of the files that start before the night (latest first), those that by their header reach into it."""
    in_vain = 0
    for rank, one in enumerate(before):
        if rank and (in_vain >= _LOOK_BACK_FILES or night - one.rounds[1] > _LOOK_BACK):
            return
        if _may_reach(one, night, nearest=rank == 0):
            yield one
        else:
            in_vain += 1


def _may_reach(one: Started, night: datetime, *, nearest: bool) -> bool:
    try:
        seconds = glance(one.file.path).seconds
    except CannotRead:
        # Nobody knows how long it was; the last before the night is named, those before it are past.
        return nearest and night - one.rounds[1] < _LOOK_BACK
    return seconds is None or one.rounds[1] + timedelta(seconds=seconds) > night


def _look(one: Started, trials: Trials) -> Probe:
    path = one.file.path
    try:
        size = path.stat().st_size
        if size == 0:
            raise CannotRead("the file is empty (0 bytes)")
        seen = probe(path, trials)
        if path.stat().st_size != size:
            seen = replace(seen, cut=seen.cut or "it grew while it was read")
    except OSError as error:
        raise CannotRead("the file is gone or the disk could not be read") from error
    return seen


def _fresh(one: Started, now: datetime) -> bool:
    """Written to within the last minute of `now`."""
    try:
        written = datetime.fromtimestamp(one.file.path.stat().st_mtime, UTC)
    except OSError:
        return False
    return abs(now - written) <= _FRESH


def _recording(one: Started, seen: Probe, start: datetime, ambiguous: bool) -> Recording:
    return Recording(
        kind="video",
        paths=(one.file.path,),
        start=start,
        end=start + timedelta(seconds=float(seen.spans[-1, 1])),
        width=seen.width,
        height=seen.height,
        codec=seen.codec,
        fps=seen.fps,
        key_times=seen.keys,
        still_times=np.zeros(0),
        ambiguous=ambiguous,
        spans=seen.spans,
        offset_s=seen.offset_s,
        late_s=seen.late_s,
        seekable=seen.seekable,
        key_bytes=seen.key_bytes,
        cut=seen.cut,
    )


def _note_unfinished(found: _Found, one: Started, recording: Recording, now: datetime) -> None:
    """Name a recording that was cut off, or is still being written, as far as it could be read."""
    live = abs(now - recording.end) <= _LIVE
    if _fresh(one, now) and (recording.cut or live):
        why = f"still being written when read; read up to {recording.end:%Y-%m-%d %H:%M:%S} UTC"
    elif recording.cut:
        why = f"{recording.cut}; what is there was read"
    else:
        return
    found.unreadable.append(Unreadable(one.file.name, why, recording.start))


def _footage(camera: Camera, hours: NightHours, found: _Found, started: Sequence[Started]) -> Footage:
    width, height = _picture_size(camera, found)
    recordings = sorted(found.recordings, key=lambda recording: (recording.start, recording.end))
    return Footage(
        camera=camera.name,
        folder=camera.footage,
        start=hours.start,
        end=hours.end,
        recordings=tuple(recordings),
        unreadable=tuple(sorted(found.unreadable, key=lambda file: natural_key(file.file))),
        notes=(*found.notes, *_notes(recordings, started)),
        width=width,
        height=height,
        scale=(width / camera.picture[0], height / camera.picture[1]),
    )


def _picture_size(camera: Camera, found: _Found) -> tuple[int, int]:
    """The night's commonest picture size; recordings of another shape are set aside. May add a note."""
    if not found.recordings:
        return camera.picture
    sizes = Counter((one.width, one.height) for one in found.recordings)
    fitting = [size for size, _ in sizes.most_common() if _same_shape(size, camera.picture)]
    if not fitting:
        raise SiteError(_wrong_size(camera, sizes.most_common(1)[0][0]))
    _set_aside(camera, found)
    if fitting[0] != camera.picture:
        found.notes.append(
            f"The recordings are {_size(fitting[0])}, the outlines were drawn on "
            f"{_size(camera.picture)}: scaled."
        )
    return fitting[0]


def _set_aside(camera: Camera, found: _Found) -> None:
    for one in found.recordings:
        if not _same_shape((one.width, one.height), camera.picture):
            name = one.paths[0].relative_to(camera.footage).as_posix()
            found.unreadable.append(Unreadable(name, _wrong_size(camera, (one.width, one.height)), one.start))
    found.recordings = [
        one for one in found.recordings if _same_shape((one.width, one.height), camera.picture)
    ]


def _same_shape(size: tuple[int, int], picture: tuple[int, int]) -> bool:
    return abs(size[0] * picture[1] / (size[1] * picture[0]) - 1) <= _SHAPE


def _wrong_size(camera: Camera, size: tuple[int, int]) -> str:
    return (
        f'camera "{camera.name}": the recordings are {_size(size)}, but `picture` in the site file is '
        f"{_size(camera.picture)}, which has another shape; correct `picture` and draw the outlines anew."
    )


def _size(size: tuple[int, int]) -> str:
    return f"{size[0]}x{size[1]}"


def _notes(recordings: Sequence[Recording], started: Sequence[Started]) -> Iterator[str]:
    unclear = [one for one in recordings if one.ambiguous]
    if unclear:
        yield (
            f"The clocks were set back this night, and {len(unclear)} recording(s), "
            f"{unclear[0].paths[0].name} first, may be an hour later than told: taken as before the change."
        )
    yield from _overlaps(recordings)
    by = Counter(one.by for one in started if any(one.file.path in r.paths for r in recordings))
    if by["disk"]:
        yield f"The start of {by['disk']} file(s) was taken from the time they were last written."
    if by["file"] and by["name"]:
        yield f"{by['file']} file(s) do not match the stamp: the time written inside them was used."


def _overlaps(recordings: Sequence[Recording]) -> Iterator[str]:
    """A note where recordings overlap by more than the seconds a recorder repeats at a join."""
    pairs = [(a, b, (min(a.end, b.end) - b.start)) for a, b in pairwise(recordings)]
    pairs = [pair for pair in pairs if pair[2] > _PRE_ROLL]
    if pairs:
        _, second, overlap = pairs[0]
        yield (
            f"{len(pairs)} recording(s) overlap the one before ({second.paths[0].name} by "
            f"{overlap.total_seconds():.0f} s): the camera's clock was set back, or two ran at once; "
            "each instant is counted once."
        )
