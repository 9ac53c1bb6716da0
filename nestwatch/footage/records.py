"""What footage hands to the rest of the house: recordings, timed frames, and the account of what was read.

Instants at the door are aware UTC datetimes; inside arrays they are float64 POSIX seconds (UTC).
Array axes are (row, column). Luma is the Y plane as stored (0..255, limited range not stretched).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch of the night without readable pictures, and why in plain words."""

    start: datetime
    end: datetime
    why: str


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A file that could not be read, or only in part. `file` is relative to the camera's folder (posix).

    `at` is when it starts by its name or container, None where that cannot be told.
    """

    file: str
    why: str
    at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Recording:
    """One video file, or one run of still pictures, placed on the wall clock.

    `start` is the instant of timestamp zero; `end` that of the end of the last readable frame.
    `paths` is one file for a video, every picture in order for stills (`still_times`, POSIX seconds,
    has the same length; empty for a video). `key_times` are the key frames' timestamps in seconds since
    `start`, empty where the container has no usable key frames and every frame must be decoded.
    `fps` is the mean frame rate, None where it cannot be told. `ambiguous` is True where the wall clock
    could mean two instants (the repeated hour) and file order did not settle it.

    `spans` are the stretches that hold pictures, (n, 2) seconds since `start`, rising, not touching; more
    than one where the timestamps jump. `offset_s` is the container's timestamp (seconds) of `start`: a
    transport stream begins at 1.4 s, say. `late_s` is how much later than in `key_times` a key frame may come
    (an index may count in decoding order). `seekable` is False where the file has no index; `key_bytes` then
    holds where each key frame begins in the file (empty where that is unknown: read in order).
    `cut` says why the file ends early or has no proper end, "" where it was closed properly.
    """

    kind: Literal["video", "stills"]
    paths: tuple[Path, ...]
    start: datetime
    end: datetime
    width: int
    height: int
    codec: str
    fps: float | None
    key_times: NDArray[np.float64]
    still_times: NDArray[np.float64]
    ambiguous: bool
    spans: NDArray[np.float64] = field(default_factory=lambda: np.zeros((0, 2)))
    offset_s: float = 0.0
    late_s: float = 0.0
    seekable: bool = True
    key_bytes: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, np.int64))
    cut: str = ""


@dataclass(frozen=True, slots=True)
class Footage:
    """All recordings of one camera that touch one night, in wall-clock order, and what was left out.

    `start` and `end` bound the night. `unreadable` lists files set aside while finding them; `notes` are
    sentences for the keeper (an ambiguous clock, a picture size that was scaled). `scale` is (sx, sy):
    footage pixels per pixel of the picture the outlines were drawn on.
    """

    camera: str
    folder: Path
    start: datetime
    end: datetime
    recordings: tuple[Recording, ...]
    unreadable: tuple[Unreadable, ...]
    notes: tuple[str, ...]
    width: int
    height: int
    scale: tuple[float, float]


@dataclass(frozen=True, slots=True)
class SkimFrame:
    """One frame seen while skimming.

    `at`: POSIX seconds. `luma`: uint8 of shape (rows, columns), area-reduced. `chroma`: mean absolute
    distance of the chroma planes from grey in levels (about 0 under infrared), NaN where the stream has none.
    `shown_s`: how many seconds of the night this frame speaks for (to the next skimmed frame, no further
    than a gap). `recording`: index into `Footage.recordings`.
    """

    at: float
    luma: NDArray[np.uint8]
    chroma: float
    shown_s: float
    recording: int


@dataclass(frozen=True, slots=True)
class Burst:
    """Frames of a short stretch at a higher rate. `times`: (n,) POSIX seconds, rising, not always evenly
    spaced. `luma`: uint8 (n, rows, columns). `key`: (n,) bool, True where the frame is a key frame.
    `scale`: footage pixels per pixel of `luma`. `origin`: (x, y) footage pixel of luma's top left corner.
    n may be 0 where nothing could be read."""

    times: NDArray[np.float64]
    luma: NDArray[np.uint8]
    key: NDArray[np.bool_]
    scale: float
    origin: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Account:
    """What was asked of a camera for a night and what was read.

    `seconds_expected` is the night's length; `seconds_read` counts each instant once however many
    recordings overlap there. `gaps` cover exactly the rest. `notes` are sentences for the keeper.
    """

    camera: str
    start: datetime
    end: datetime
    seconds_expected: float
    seconds_read: float
    gaps: tuple[Gap, ...]
    unreadable: tuple[Unreadable, ...]
    notes: tuple[str, ...]
