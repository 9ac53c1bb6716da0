"""What came by and was no dig: blobs of successive frames linked into tracks, sized against the shell."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.records import Blob
from nestwatch.nesting.hanging import Hanging, find_hanging
from nestwatch.nesting.records import VisitorKind
from nestwatch.nesting.squares import occupied
from nestwatch.nesting.stops import StopSpan, find_stops

Floats = NDArray[np.float64]
_LINK_S = 25.0
_LINK_SHELLS = 8.0
_LARGER = 5.0
_PERSON = 16.0
_PAWS = 0.8
_STOP_SHELLS = 2.5
_MIN_FRAMES = 3
_MERGE_S = 90.0
_COARSE = 12.0
_RESTLESS, _RESTLESS_S = 0.5, 1800.0
_AROUND: tuple[tuple[int, Literal["left", "right"]], ...] = ((-1, "left"), (1, "right"))
_LIGHT_STEP = 0.18
_LIGHT_LONGEST_S = 15 * 60.0


@dataclass(slots=True)
class Track:
    """Blobs of one visitor so far, in time order."""

    blobs: list[Blob] = field(default_factory=list)

    @property
    def last(self) -> Blob:
        """The newest blob."""
        return self.blobs[-1]


@dataclass(frozen=True, slots=True)
class Passage:
    """A visitor in skim terms. `start`, `end`: POSIX seconds. `row`, `column`: where it was largest (skim
    picture, not window); NaN for a light. `stops`: where it stayed for a minute or more."""

    what: VisitorKind
    start: float
    end: float
    row: float
    column: float
    stops: tuple[StopSpan, ...] = ()


def find_passages(
    blobs: Sequence[Blob],
    levels: Sequence[tuple[float, float]],
    shell_px: float,
    *,
    step_s: float,
    shell_at: Callable[[float], float] | None = None,
) -> tuple[list[Passage], Hanging]:
    """Visitors of a night, and what hangs before the lens, from its changed patches and frame levels (POSIX
    seconds, mean luma).

    `shell_px`: shell length in skim pixels; `shell_at`: the same by row of the skim picture, where that is
    known: a cat near the camera covers more of the picture than a person far off. `step_s`: time between
    skimmed frames.
    """
    bodies = _Bodies(shell_px, shell_at)
    lights = _lights(levels)
    cell = max(shell_px, _COARSE)
    settled = _on_settled_ground(blobs, np.array([at for at, _ in levels]), cell)
    small: list[Blob] = []
    large: list[Blob] = []
    for blob in settled:
        if not _during(lights, blob.at):
            (large if bodies.size(blob) >= _LARGER else small).append(blob)
    hanging = find_hanging(large, cell)
    large = [b for b in large if not hanging.over(b.at, b.row, b.column)]
    tracks = _link(large, shell_px, max(_LINK_S, 2.5 * step_s))
    passages = _merged([_passage(track, bodies) for track in tracks if _frames(track) >= _MIN_FRAMES])
    stops = find_stops(
        [*small, *large], bodies.size, large=_LARGER, medium=_PAWS, reach=_STOP_SHELLS * shell_px
    )
    return sorted([_stopping(p, stops) for p in passages] + lights, key=lambda p: p.start), hanging


@dataclass(frozen=True, slots=True)
class _Bodies:
    """How large a patch is in turtle bodies, by how large a turtle would be seen where it stands."""

    shell_px: float
    shell_at: Callable[[float], float] | None

    def size(self, blob: Blob) -> float:
        foot = blob.row + blob.height / 2
        shell = self.shell_px if self.shell_at is None else self.shell_at(foot)
        return blob.area / (0.6 * shell**2)


def _stopping(passage: Passage, stops: Sequence[StopSpan]) -> Passage:
    """`passage` with the stops that began in it."""
    own = tuple(stop for stop in stops if passage.start <= stop.start <= passage.end)
    return replace(passage, stops=own)


def _on_settled_ground(blobs: Sequence[Blob], times: Floats, cell: float) -> list[Blob]:
    """`blobs` less those in the middle of what changes more often than not: leaves in wind, ripples, rain.

    A visitor passes a place, or comes and stays still; a bush moves for as long as the wind blows. `times`:
    (n,) POSIX seconds of all frames. `cell`: side in skim pixels of the squares in which change is counted.
    """
    if not blobs:
        return []
    frame = np.searchsorted(times, [b.at for b in blobs])
    seen = occupied(blobs, frame + 1, cell, count=len(times) + 1)
    count = np.cumsum(seen, axis=0, dtype=np.int16)
    low, high = (np.searchsorted(times, times[frame] + way * _RESTLESS_S, side) for way, side in _AROUND)
    return [
        blob
        for blob, a, b in zip(blobs, low, high, strict=True)
        if (count[b] - count[a])[int(blob.row / cell), int(blob.column / cell)] <= _RESTLESS * (b - a)
    ]


def _link(blobs: Sequence[Blob], shell_px: float, link_s: float) -> list[Track]:
    done: list[Track] = []
    live: list[Track] = []
    for blob in blobs:
        done += [t for t in live if blob.at - t.last.at > link_s]
        live = [t for t in live if blob.at - t.last.at <= link_s]
        near = [t for t in live if _apart(t.last, blob) <= _LINK_SHELLS * shell_px + t.last.height]
        if near:
            min(near, key=lambda t: _apart(t.last, blob)).blobs.append(blob)
        else:
            live.append(Track([blob]))
    return done + live


def _frames(track: Track) -> int:
    """In how many frames it was seen: one frame may show several patches of it."""
    return len({blob.at for blob in track.blobs})


def _apart(one: Blob, other: Blob) -> float:
    return float(np.hypot(one.row - other.row, one.column - other.column))


def _passage(track: Track, bodies: _Bodies) -> Passage:
    sizes = np.array([bodies.size(blob) for blob in track.blobs])
    size = float(np.percentile(sizes, 75))
    largest = track.blobs[int(np.argmax(sizes))]
    what: VisitorKind = "person" if size >= _PERSON else "larger animal"
    return Passage(what, track.blobs[0].at, track.last.at, largest.row, largest.column)


def _merged(passages: list[Passage]) -> list[Passage]:
    """Passages of one kind that follow each other closely are one visit."""
    out: list[Passage] = []
    for passage in sorted(passages, key=lambda p: p.start):
        last = next((i for i, p in enumerate(out) if passage.start - p.end <= _MERGE_S), None)
        if last is None:
            out.append(passage)
            continue
        first = out[last]
        what: VisitorKind = "person" if "person" in (first.what, passage.what) else first.what
        end = max(first.end, passage.end)
        out[last] = Passage(what, first.start, end, first.row, first.column)
    return out


def _lights(levels: Sequence[tuple[float, float]]) -> list[Passage]:
    """Times when the whole picture was much brighter than the quarter hour around it."""
    if len(levels) < 8:
        return []
    table = np.array(levels)
    usual = _running_median(table[:, 0], table[:, 1], _LIGHT_LONGEST_S)
    bright = table[:, 1] > usual * (1 + _LIGHT_STEP) + 2.0
    edges = np.flatnonzero(np.diff(np.concatenate([[False], bright, [False]]).astype(int)))
    nan = float("nan")
    spans = [
        (float(table[a, 0]), float(table[b - 1, 0])) for a, b in zip(edges[::2], edges[1::2], strict=True)
    ]
    return [Passage("light", start, end, nan, nan) for start, end in spans if end - start <= _LIGHT_LONGEST_S]


def _running_median(times: Floats, values: Floats, reach_s: float) -> Floats:
    marks = np.arange(times[0], times[-1] + 120.0, 120.0)
    low, high = np.searchsorted(times, marks - reach_s), np.searchsorted(times, marks + reach_s)
    middle = np.array([np.median(values[a:b]) if b > a else np.nan for a, b in zip(low, high, strict=True)])
    known = np.isfinite(middle)
    return np.asarray(np.interp(times, marks[known], middle[known]), np.float64)


def _during(lights: Sequence[Passage], at: float) -> bool:
    return any(p.start - 5 <= at <= p.end + 5 for p in lights)
