"""A recording as if found: nothing is read, so it has a time and a size and no frames."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

from nestwatch.footage.records import Recording


def found_recording(
    path: Path, start: datetime, *, seconds: float, size: tuple[int, int], fps: float
) -> Recording:
    """One file without a gap from `start` (aware) on; `size`: width, height."""
    return Recording(
        kind="video",
        paths=(path,),
        start=start,
        end=start + timedelta(seconds=seconds),
        width=size[0],
        height=size[1],
        codec="h264",
        fps=fps,
        key_times=np.empty(0),
        still_times=np.empty(0),
        ambiguous=False,
        spans=np.array([[0.0, seconds]]),
    )
