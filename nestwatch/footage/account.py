"""What was read of a night and what was not, with the reason for every gap. Pure arithmetic, no files."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from itertools import pairwise

from nestwatch.footage.cover import Piece, Stretch, absolute_spans, joined
from nestwatch.footage.layout import JUMP_S
from nestwatch.footage.records import Account, Footage, Gap, Recording, Unreadable

_TOUCH_S = 2.0  # a gap that begins this close to a recording's end is what follows it


@dataclass(slots=True)
class Seen:
    """What a skim met in one piece of the night: instants (POSIX seconds) of sound and of damaged frames."""

    piece: Piece
    times: list[float] = field(default_factory=list)
    failed: list[float] = field(default_factory=list)


def damage(seen: Seen, allowed: float) -> list[Stretch]:
    """Stretches of a piece lost to damage: from a damaged frame to the next sound one, where sound frames are
    more than `allowed` seconds apart. A single damaged key frame whose neighbour is sound loses nothing."""
    if not seen.failed:
        return []
    piece, lost = seen.piece, []
    if not seen.times:
        return [(piece.start, piece.end)]
    marks = [piece.start, *seen.times, piece.end]
    for before, after in pairwise(marks):
        first = next((time for time in seen.failed if before <= time < after), None)
        if first is not None and after - before > allowed:
            lost.append((first, after))
    return lost


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
        name = relative(footage, footage.recordings[index])
        yield Gap(_instant(a), _instant(b), f"recording {name} is damaged here")


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
        bad = sum(len(one.failed) for one in of_it)
        if bad:
            total = bad + sum(len(one.times) for one in of_it)
            why = f"damaged: {bad} of {total} pictures looked at could not be read"
            yield Unreadable(relative(footage, recording), why, recording.start)


def _merged(files: Sequence[Unreadable]) -> tuple[Unreadable, ...]:
    """One entry a file, its reasons joined."""
    by_name: dict[str, Unreadable] = {}
    for file in files:
        known = by_name.get(file.file)
        by_name[file.file] = file if known is None else replace(known, why=f"{known.why}; {file.why}")
    return tuple(by_name.values())


def relative(footage: Footage, recording: Recording) -> str:
    """A recording's (first) file, relative to the camera's folder, with forward slashes."""
    path = recording.paths[0]
    return path.relative_to(footage.folder).as_posix() if path.is_relative_to(footage.folder) else path.name
