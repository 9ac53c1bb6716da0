"""What was read of a night and what was not, with the reason for every gap. Pure arithmetic, no files."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path

from nestwatch.footage.cover import Piece, Stretch, absolute_spans, joined
from nestwatch.footage.layout import JUMP_S
from nestwatch.footage.records import Account, Footage, Gap, Recording, Unreadable

_MOMENT_S = 0.001  # no timestamp is finer
_TOUCH_S = 2.0  # a gap that begins this close to a recording's end is what follows it


@dataclass(slots=True)
class Seen:
    """What a skim met in one piece of the night: instants (POSIX s, rising) of sound and damaged frames."""

    piece: Piece
    times: list[float] = field(default_factory=list)
    failed: list[float] = field(default_factory=list)


def damage(seen: Seen, allowed: float) -> list[Stretch]:
    """Stretches of a piece lost to damage: from a damaged frame to the next sound one, where sound frames are
    more than `allowed` seconds apart. A single damaged key frame whose neighbour is sound loses nothing."""
    if not seen.failed:
        return []
    if not seen.times:
        return [(seen.piece.start, seen.piece.end)]
    marks = [seen.piece.start, *seen.times, seen.piece.end]
    found = ((lost_from(seen, before, after, allowed), after) for before, after in pairwise(marks))
    return [(first, after) for first, after in found if first is not None]


def lost_from(seen: Seen, before: float, after: float, allowed: float) -> float | None:
    """Where between two sound frames of a piece the damage begins, None where nothing is lost."""
    if not seen.times:
        return max(before, seen.piece.start) if seen.failed else None
    index = bisect_left(seen.failed, before)
    if after - before <= allowed or index == len(seen.failed):
        return None
    return first if (first := seen.failed[index]) < after - _MOMENT_S else None


def without(stretches: Sequence[Stretch], holes: Sequence[Stretch]) -> list[Stretch]:
    """`stretches` less `holes`; both sorted, each disjoint."""
    left: list[Stretch] = []
    for start, end in stretches:
        for a, b in holes:
            if a >= end or b <= start:
                continue
            if a > start:
                left.append((start, a))
            start = max(start, b)
        if start < end:
            left.append((start, end))
    return left


def read_stretches(pieces: Sequence[Piece], start: float, end: float) -> list[Stretch]:
    """Pieces joined over pauses too short to mention, the night's ends included."""
    if not pieces:
        return []
    edges = [(start, start), *((piece.start, piece.end) for piece in pieces), (end, end)]
    return [(a, b) for a, b in joined(edges, JUMP_S) if b > a]


def account_of(footage: Footage, seen: Sequence[Seen], allowed: float) -> Account:
    """The account of a whole skim. `allowed` as in `damage`."""
    start, end = footage.start.timestamp(), footage.end.timestamp()
    lost = [(stretch, one.piece.recording) for one in seen for stretch in damage(one, allowed)]
    read = without(read_stretches([one.piece for one in seen], start, end), [stretch for stretch, _ in lost])
    gaps = sorted([*_gaps(footage, seen, read), *_damaged(footage, lost)], key=lambda gap: gap.start)
    return Account(
        camera=footage.camera,
        start=footage.start,
        end=footage.end,
        seconds_expected=end - start,
        seconds_read=sum(b - a for a, b in read),
        gaps=tuple(gaps),
        unreadable=_merged([*footage.unreadable, *_damaged_files(footage, seen)]),
        notes=footage.notes,
    )


def _instant(seconds: float) -> datetime:
    return datetime.fromtimestamp(seconds, UTC)


def _damaged(footage: Footage, lost: Sequence[tuple[Stretch, int]]) -> Iterator[Gap]:
    for (a, b), index in lost:
        recording = footage.recordings[index]
        what = (
            "pictures are" if recording.kind == "stills" else f"recording {relative(footage, recording)} is"
        )
        yield Gap(_instant(a), _instant(b), f"{what} damaged here")


def _gaps(footage: Footage, seen: Sequence[Seen], read: Sequence[Stretch]) -> Iterator[Gap]:
    """What no recording covers."""
    start, end = footage.start.timestamp(), footage.end.timestamp()
    covered = read_stretches([one.piece for one in seen], start, end)
    for a, b in without([(start, end)], covered):
        yield Gap(_instant(a), _instant(b), _why(footage, a, b))


def _why(footage: Footage, start: float, end: float) -> str:
    reasons = [*_why_recordings(footage, start, end), *_why_files(footage, start, end)]
    return "; ".join(reasons) if reasons else "no recording"


def _why_recordings(footage: Footage, start: float, end: float) -> Iterator[str]:
    for recording in footage.recordings:
        name = relative(footage, recording)
        first, last = recording.start.timestamp(), recording.end.timestamp()
        if first < start and end < last:
            pause = not any(a < end and start < b for a, b in absolute_spans(recording))
            if pause:
                what = "pictures are missing" if recording.kind == "stills" else "its timestamps jump"
                yield f"recording {name} shows nothing here ({what})"
        elif recording.cut and abs(last - start) < _TOUCH_S:
            yield f"recording {name} ends early ({recording.cut})"


def _why_files(footage: Footage, start: float, end: float) -> Iterator[str]:
    for file in footage.unreadable:
        if file.at is not None and start - _TOUCH_S <= file.at.timestamp() < end and not _read(footage, file):
            yield f"{file.file} could not be read ({file.why})"


def _read(footage: Footage, file: Unreadable) -> bool:
    return any(relative(footage, recording) == file.file for recording in footage.recordings)


def _damaged_files(footage: Footage, seen: Sequence[Seen]) -> Iterator[Unreadable]:
    for index, recording in enumerate(footage.recordings):
        of_it = [one for one in seen if one.piece.recording == index]
        if recording.kind == "stills":
            yield from _damaged_stills(footage, recording, of_it)
            continue
        bad = sum(len(one.failed) for one in of_it)
        if bad:
            total = bad + sum(len(one.times) for one in of_it)
            why = f"damaged: {bad} of {total} pictures looked at could not be read"
            yield Unreadable(relative(footage, recording), why, recording.start)


def _damaged_stills(footage: Footage, recording: Recording, seen: Sequence[Seen]) -> Iterator[Unreadable]:
    failed = {time for one in seen for time in one.failed}
    for path, at in zip(recording.paths, recording.still_times.tolist(), strict=True):
        if at in failed:
            yield Unreadable(_name(footage, path), "the picture is damaged", _instant(at))


def _merged(files: Sequence[Unreadable]) -> tuple[Unreadable, ...]:
    """One entry a file, its reasons joined."""
    by_name: dict[str, Unreadable] = {}
    for file in files:
        known = by_name.get(file.file)
        by_name[file.file] = file if known is None else replace(known, why=f"{known.why}; {file.why}")
    return tuple(by_name.values())


def relative(footage: Footage, recording: Recording) -> str:
    """A recording's (first) file, relative to the camera's folder, with forward slashes."""
    return _name(footage, recording.paths[0])


def _name(footage: Footage, path: Path) -> str:
    return path.relative_to(footage.folder).as_posix() if path.is_relative_to(footage.folder) else path.name
