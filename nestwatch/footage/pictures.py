"""Pictures for people: the frame nearest to each wanted instant, in colour and at full quality."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from datetime import datetime

import av
import numpy as np
from numpy.typing import NDArray

from nestwatch.footage import frames
from nestwatch.footage.burst import frames_of
from nestwatch.footage.cover import pieces
from nestwatch.footage.opening import CannotRead
from nestwatch.footage.plan import LONG_S
from nestwatch.footage.records import Footage, Recording
from nestwatch.footage.stills import decode_still
from nestwatch.footage.walk import Walker


def read_pictures(
    footage: Footage, times: Sequence[datetime], *, width: int | None = None, reach_s: float = 30.0
) -> Iterator[NDArray[np.uint8] | None]:
    """For each instant the nearest picture within `reach_s` seconds: uint8 (rows, columns, 3), RGB; None
    where there is none. `width` reduces it (never enlarges); None keeps the footage's size.

    The nearest key frame is taken where there is one (cheap); where key frames are far apart or cannot stand
    alone the frame itself is decoded. The file stays open between instants of one recording.
    """
    size = frames.reduced_size(footage.width, footage.height, width)
    with _Shelf() as shelf:
        for time in times:
            frame = _nearest(footage, shelf, time.timestamp(), reach_s)
            yield None if frame is None else frames.reduce(frames.rgb(frame), size)


class _Shelf:
    """Keeps the recording used last open."""

    def __init__(self) -> None:
        self._stack = ExitStack()
        self._walker: Walker | None = None
        self._last: tuple[Recording, float, av.VideoFrame] | None = None

    def __enter__(self) -> _Shelf:
        return self

    def __exit__(self, *_: object) -> None:
        self._stack.close()

    def take(self, recording: Recording) -> Walker:
        if self._walker is None or self._walker.recording is not recording:
            self._stack.close()
            self._walker = None
            self._walker = self._stack.enter_context(Walker(recording))
        return self._walker

    def key_frame(self, recording: Recording, key: float) -> av.VideoFrame | None:
        """The key frame at `key`; neighbouring instants of a clip often share one."""
        if self._last is not None and self._last[0] is recording and self._last[1] == key:
            return self._last[2]
        found = self.take(recording).key_frame(key)
        if found is None:
            return None
        self._last = recording, key, found[1]
        return found[1]


def _nearest(footage: Footage, shelf: _Shelf, at: float, reach_s: float) -> av.VideoFrame | None:
    """Try the recordings that tell the surroundings of `at`, the nearest first."""
    around = pieces(footage.recordings, at - reach_s, at + reach_s)
    ranked = sorted(around, key=lambda piece: max(piece.start - at, at - piece.end, 0.0))
    for piece in ranked:
        recording = footage.recordings[piece.recording]
        try:
            frame = _from(recording, shelf, at, piece.start, piece.end)
        except CannotRead:
            continue
        if frame is not None:
            return frame
    return None


def _from(recording: Recording, shelf: _Shelf, at: float, start: float, end: float) -> av.VideoFrame | None:
    if recording.kind == "stills":
        return _still(recording, at, start, end)
    zero = recording.start.timestamp()
    keys = recording.key_times
    near = keys[(keys >= start - zero) & (keys < end - zero)]
    if not len(near) or np.abs(near - (at - zero)).min() > LONG_S:
        return _decoded(shelf.take(recording), max(start, min(at, end)) - zero, end - zero)
    for key in near[np.argsort(np.abs(near - (at - zero)))][:3].tolist():
        frame = shelf.key_frame(recording, key)
        if frame is not None:
            return frame
    return None


def _decoded(walker: Walker, at: float, end: float) -> av.VideoFrame | None:
    """The frame nearest to `at` (seconds since the start), every frame before it decoded."""
    window = max(1.0, 2 / (walker.recording.fps or 1.0))
    start = max(0.0, min(at, end) - window)
    nearest: tuple[float, av.VideoFrame] | None = None
    for time, frame in frames_of(walker, start, min(end, at + window)):
        if nearest is None or abs(time - at) < abs(nearest[0] - at):
            nearest = time, frame
        if time >= at:
            break
    return None if nearest is None else nearest[1]


def _still(recording: Recording, at: float, start: float, end: float) -> av.VideoFrame | None:
    times = recording.still_times
    for index in np.argsort(np.abs(times - at))[:3].tolist():
        if start <= times[index] < end:
            try:
                return decode_still(recording.paths[index])
            except CannotRead:
                continue
    return None
