"""Where in a recording there are pictures: from timestamps to stretches. Pure arithmetic, no files."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

JUMP_S = 2.0  # a shorter pause between frames, or between recordings, is not worth a keeper's line
_JUMP_FRAMES = 3.0  # a time-lapse of one frame in 10 s does not jump at every frame


def frame_distance(times: NDArray[np.float64]) -> float:
    """The usual distance of two frames in seconds (median), NaN for fewer than two."""
    return float(np.median(np.diff(times))) if len(times) > 1 else float("nan")


def jump_limit(distance: float) -> float:
    """Frames further apart than this many seconds have a hole between them."""
    return max(JUMP_S, _JUMP_FRAMES * distance) if np.isfinite(distance) else JUMP_S


def spans_of(times: NDArray[np.float64], *, distance: float | None = None) -> NDArray[np.float64]:
    """Stretches with frames, (n, 2) seconds, from all frame times (rising). Each ends a frame late."""
    if not len(times):
        return np.zeros((0, 2))
    distance = frame_distance(times) if distance is None else distance
    last = distance if np.isfinite(distance) else 0.0
    breaks = np.flatnonzero(np.diff(times) > jump_limit(distance))
    starts = times[np.r_[0, breaks + 1]]
    ends = times[np.r_[breaks, len(times) - 1]] + last
    return np.column_stack([starts, ends])


def rising(times: NDArray[np.float64]) -> NDArray[np.float64]:
    """Sorted, each time once, without NaN."""
    return np.unique(times[np.isfinite(times)])


def suspicious(keys: NDArray[np.float64]) -> NDArray[np.intp]:
    """Indices of the key frames after which the next is late: a hole may hide there.

    An index of key frames alone (Matroska) does not show single frames; where the key distance exceeds half
    as much again as usual plus `JUMP_S`, the packets between must be looked at.
    """
    if len(keys) < 2:
        return np.zeros(0, np.intp)
    distances = np.diff(keys)
    return np.flatnonzero(distances > 1.5 * np.median(distances) + JUMP_S)
