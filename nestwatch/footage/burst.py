"""A short stretch at a high rate, cut out of the picture: for the rhythm of limbs."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

import av
import numpy as np
from numpy.typing import NDArray

from nestwatch.footage import frames
from nestwatch.footage.cover import Piece, pieces
from nestwatch.footage.opening import CannotRead
from nestwatch.footage.plan import Visit
from nestwatch.footage.records import Burst, Footage, Recording
from nestwatch.footage.stills import decode_still
from nestwatch.footage.walk import Walker

_BACK_S = (0.0, 4.0, 16.0, 64.0)
Box = tuple[int, int, int, int]


def read_burst(
    footage: Footage,
    start: datetime,
    seconds: float,
    *,
    fps: float,
    box: Box | None = None,
    width_scale: float = 1.0,
) -> Burst:
    """Every frame of [`start`, `start` + `seconds`), thinned to about `fps`, in time order.

    `box` is (x0, y0, x1, y1) in footage pixels, upper bounds excluded, cut to the picture; None is all of it.
    `width_scale` >= 1 reduces the cut by area means. Nothing recorded, no frames: n may be 0.
    Raises `ValueError` for a box without area inside the picture.
    """
    left, top, right, bottom = _inside(box, footage.width, footage.height)
    size = (max(1, round((right - left) / width_scale)), max(1, round((bottom - top) / width_scale)))
    times: list[float] = []
    keys: list[bool] = []
    cuts: list[NDArray[np.uint8]] = []
    for at, frame in _thinned(_frames(footage, start.timestamp(), seconds), fps):
        picture = _full_size(frames.luma(frame), footage)
        times.append(at)
        keys.append(frame.key_frame)
        cuts.append(frames.reduce(picture[top:bottom, left:right], size))
    return Burst(
        times=np.array(times, np.float64),
        luma=np.stack(cuts) if cuts else np.zeros((0, size[1], size[0]), np.uint8),
        key=np.array(keys, np.bool_),
        scale=(right - left) / size[0],
        origin=(left, top),
    )


def _inside(box: Box | None, width: int, height: int) -> Box:
    left, top, right, bottom = box or (0, 0, width, height)
    inside = max(0, left), max(0, top), min(width, right), min(height, bottom)
    if inside[0] >= inside[2] or inside[1] >= inside[3]:
        raise ValueError(f"box {box} has no area inside the picture of {width}x{height}")
    return inside


def _full_size(picture: NDArray[np.uint8], footage: Footage) -> NDArray[np.uint8]:
    """The picture in footage pixels, where a recording of the night has another size."""
    size = (footage.width, footage.height)
    return picture if (picture.shape[1], picture.shape[0]) == size else frames.reduce(picture, size)


def _thinned(
    found: Iterator[tuple[float, av.VideoFrame]], fps: float
) -> Iterator[tuple[float, av.VideoFrame]]:
    """About `fps` frames a second: each frame nearest after the beat, without drift."""
    due = float("-inf")
    for at, frame in found:
        if at < due - 0.25 / fps:
            continue
        due = at + 1 / fps if due == float("-inf") else max(due + 1 / fps, at + 0.5 / fps)
        yield at, frame


def _frames(footage: Footage, start: float, seconds: float) -> Iterator[tuple[float, av.VideoFrame]]:
    """(POSIX seconds, frame) from every recording that tells a part of the stretch."""
    for piece in pieces(footage.recordings, start, start + seconds):
        recording = footage.recordings[piece.recording]
        yield from (_of_stills if recording.kind == "stills" else _of_video)(recording, piece)


def _of_video(recording: Recording, piece: Piece) -> Iterator[tuple[float, av.VideoFrame]]:
    zero = recording.start.timestamp()
    try:
        with Walker(recording) as walker:
            for time, frame in frames_of(walker, piece.start - zero, piece.end - zero):
                yield zero + time, frame
    except CannotRead:
        return


def frames_of(walker: Walker, start: float, end: float) -> Iterator[tuple[float, av.VideoFrame]]:
    """Frames in [`start`, `end`), decoded from the last key frame before.

    An intra-refresh stream shows nothing until it has recovered, and a key frame may be damaged: where the
    first frame comes late, decoding starts further back.
    """
    recording = walker.recording
    before = recording.key_times[recording.key_times <= start]
    key = float(before[-1]) if len(before) else max(0.0, start)
    for back in _BACK_S:
        found = walker.frames(Visit(max(0.0, key - back), start, end))
        first = next(found, None)
        if key <= back or (first is not None and first[0] <= start + 1.5 / (recording.fps or 1.0)):
            break
        if back != _BACK_S[-1]:
            found.close()
    yield from () if first is None else (first,)
    yield from found


def _of_stills(recording: Recording, piece: Piece) -> Iterator[tuple[float, av.VideoFrame]]:
    for path, at in zip(recording.paths, recording.still_times.tolist(), strict=True):
        if piece.start <= at < piece.end:
            try:
                yield at, decode_still(path)
            except CannotRead:
                continue
