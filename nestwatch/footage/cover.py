"""Which recording speaks for which part of the night, so that no instant counts twice. Pure arithmetic.

Where recordings overlap, the one that started later wins (its beginning is whole, and its first key frame is
there); but a recording that lies wholly inside a longer one is used only where the longer has no pictures.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from nestwatch.footage.records import Recording

Stretch = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Piece:
    """[`start`, `end`) in POSIX seconds is told by recording number `recording`."""

    start: float
    end: float
    recording: int


def absolute_spans(recording: Recording) -> list[Stretch]:
    """A recording's stretches with pictures in POSIX seconds."""
    zero = recording.start.timestamp()
    return [(zero + a, zero + b) for a, b in recording.spans.tolist()]


def pieces(recordings: Sequence[Recording], start: float, end: float) -> list[Piece]:
    """The night [`start`, `end`) divided among the recordings, in order, without overlap."""
    covered: list[Stretch] = []
    found: list[Piece] = []
    for index in _by_rank(recordings):
        for a, b in absolute_spans(recordings[index]):
            free = list(_free(max(a, start), min(b, end), covered))
            for stretch in free:
                insort(covered, stretch)
                found.append(Piece(*stretch, index))
    return sorted(found, key=lambda piece: piece.start)


def _by_rank(recordings: Sequence[Recording]) -> list[int]:
    """Recording numbers, the first to choose first."""
    inner = _wholly_inside(recordings)
    return sorted(range(len(recordings)), key=lambda i: (i in inner, -recordings[i].start.timestamp(), -i))


def _wholly_inside(recordings: Sequence[Recording]) -> set[int]:
    """Numbers of recordings that end before an earlier-started one does."""
    inner: set[int] = set()
    latest_end = float("-inf")
    order = sorted(
        range(len(recordings)), key=lambda i: (recordings[i].start, -recordings[i].end.timestamp())
    )
    for index in order:
        end = recordings[index].end.timestamp()
        if end <= latest_end:
            inner.add(index)
        latest_end = max(latest_end, end)
    return inner


def _free(start: float, end: float, covered: list[Stretch]) -> Iterator[Stretch]:
    """Parts of [`start`, `end`) that no stretch in `covered` (sorted, disjoint) holds."""
    index = max(0, bisect_left(covered, (start, start)) - 1)
    for a, b in covered[index:]:
        if a >= end or start >= end:
            break
        if start < a:
            yield start, min(a, end)
        start = max(start, b)
    if start < end:
        yield start, end


def joined(stretches: Sequence[Stretch], within: float) -> list[Stretch]:
    """Stretches in order, merged where less than `within` seconds lie between them."""
    merged: list[Stretch] = []
    for a, b in sorted(stretches):
        if merged and a - merged[-1][1] < within:
            merged[-1] = (merged[-1][0], max(b, merged[-1][1]))
        else:
            merged.append((a, b))
    return merged
