"""The night at a glance: one frame about every four seconds, by hopping from key frame to key frame.

This pass is most of what a night costs. It reads only the key frames it visits, takes the luma plane as it
lies, and leaves the deblocking filter out unless asked to be exact.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import takewhile

import av
import numpy as np
from numpy.typing import NDArray

from nestwatch.footage import frames
from nestwatch.footage.account import Seen, account_of, lost_from, read_stretches
from nestwatch.footage.cover import Piece, pieces
from nestwatch.footage.layout import jump_limit
from nestwatch.footage.opening import CannotRead
from nestwatch.footage.plan import Visit, plan
from nestwatch.footage.records import Account, Footage, Recording, SkimFrame
from nestwatch.footage.stills import decode_still
from nestwatch.footage.walk import Walker

_KEY_SLACK_S = 0.01  # rounded timestamps
_ALLOWED = 2.5  # sound frames this many steps apart with a damaged one between: a gap


@dataclass(slots=True)
class _Look:
    """A frame whose successor is not known yet."""

    at: float
    luma: NDArray[np.uint8]
    chroma: float
    recording: int


class Skim:
    """Iterate to get `SkimFrame`s of the whole night in time order; afterwards ask for `account()`.

    One frame about every `every_s` seconds: the nearest key frame; every key frame where they are further
    apart; decoded frames where key frames are more than 20 s apart or cannot stand alone. Luma is
    area-reduced to `width` columns (never enlarged), all of one shape. `exact` keeps the deblocking filter,
    so that luma is bit for bit that of a full decode; it costs about a tenth more.

    Where recordings overlap each instant counts once: the recording that started later is shown, but one
    wholly inside a longer one only where the longer has no pictures.
    """

    def __init__(
        self, footage: Footage, *, every_s: float = 4.0, width: int = 640, exact: bool = False
    ) -> None:
        self.footage = footage
        self.every_s = every_s
        self._size = frames.reduced_size(footage.width, footage.height, width)
        self._exact = exact
        self._seen: list[Seen] | None = None

    def __iter__(self) -> Iterator[SkimFrame]:
        start, end = self.footage.start.timestamp(), self.footage.end.timestamp()
        parts = pieces(self.footage.recordings, start, end)
        blocks = read_stretches(parts, start, end)
        seen: list[Seen] = []
        held: _Look | None = None
        for look in self._looks(parts, seen):
            if held is not None and look.at <= held.at:
                continue  # timestamps went back
            if held is not None:
                yield self._shown(held, look.at, seen, blocks)
            held = look
        if held is not None:
            yield self._shown(held, end, seen, blocks)
        self._seen = seen

    def account(self) -> Account:
        """What was read of the night. Ask after the iteration has run to its end (else `RuntimeError`)."""
        if self._seen is None:
            raise RuntimeError("the account is known after the skim has run to its end")
        return account_of(self.footage, self._seen, _ALLOWED * self.every_s)

    def _shown(
        self, look: _Look, following: float, seen: list[Seen], blocks: list[tuple[float, float]]
    ) -> SkimFrame:
        """The frame with the time it speaks for: to the next one, no further than a gap."""
        block_end = next((b for a, b in blocks if a <= look.at < b), look.at)
        until = min(following, block_end)
        for one in takewhile(lambda one: one.piece.end > look.at, reversed(seen)):
            before, after = max(look.at, one.piece.start), min(following, one.piece.end)
            lost = lost_from(one, before, after, _ALLOWED * self.every_s) if before < after else None
            until = until if lost is None else min(until, lost)
        return SkimFrame(look.at, look.luma, look.chroma, max(0.0, until - look.at), look.recording)

    def _looks(self, parts: list[Piece], seen: list[Seen]) -> Iterator[_Look]:
        for part in parts:
            seen.append(Seen(part))
            recording = self.footage.recordings[part.recording]
            look = self._stills if recording.kind == "stills" else self._video
            yield from look(recording, seen[-1])

    def _video(self, recording: Recording, seen: Seen) -> Iterator[_Look]:
        zero = recording.start.timestamp()
        visits = plan(recording.key_times, seen.piece.start - zero, seen.piece.end - zero, self.every_s)
        try:
            with Walker(recording, loop_filter=self._exact) as walker:
                for visit in visits:
                    yield from self._visit(walker, visit, seen, zero)
        except CannotRead:  # gone or damaged since it was found
            seen.failed.append(max([seen.piece.start, *seen.times[-1:]]))

    def _visit(self, walker: Walker, visit: Visit, seen: Seen, zero: float) -> Iterator[_Look]:
        if visit.until is not None:
            yield from self._stretch(walker, visit, seen, zero)
            return
        for key in (visit.key, *visit.spare):
            found = walker.key_frame(key)
            if found is None or found[0] > key + walker.recording.late_s + _KEY_SLACK_S:
                seen.failed.append(zero + key)  # damaged, or so damaged that it is no key frame any more
            if found is not None and (not seen.times or zero + found[0] > seen.times[-1]):
                yield self._look(zero + found[0], found[1], seen)
                return

    def _stretch(self, walker: Walker, visit: Visit, seen: Seen, zero: float) -> Iterator[_Look]:
        """Decode everything, keep about one frame in `every_s`."""
        due, last = visit.start, visit.start
        limit = max(_ALLOWED * self.every_s, jump_limit(1 / (walker.recording.fps or 1.0)))
        for time, frame in walker.frames(visit):
            if time < due - 0.5 / (walker.recording.fps or 15.0):
                continue
            if time - last > limit:
                seen.failed.append(zero + last + self.every_s)
            due, last = max(due + self.every_s, time), time
            yield self._look(zero + time, frame, seen)
        if (visit.until or 0.0) - last > limit:
            seen.failed.append(zero + last + self.every_s)

    def _stills(self, recording: Recording, seen: Seen) -> Iterator[_Look]:
        due = float("-inf")
        for path, at in zip(recording.paths, recording.still_times.tolist(), strict=True):
            if not seen.piece.start <= at < seen.piece.end or at < due:
                continue
            try:
                yield self._look(at, decode_still(path), seen)
            except CannotRead:
                seen.failed.append(at)
                continue
            due = at + 0.9 * self.every_s

    def _look(self, at: float, frame: av.VideoFrame, seen: Seen) -> _Look:
        seen.times.append(at)
        luma = frames.reduce(frames.luma(frame), self._size)
        return _Look(at, luma, frames.chroma(frame), seen.piece.recording)
