"""How much moved in one camera's nesting zones through the night: what clocks can be compared by."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.records import Blob

Floats = NDArray[np.float64]
_LEVELS = 20.0
_MOST = 255
_SWITCH_S = 60.0
UNSEEN = -1


@dataclass(frozen=True, slots=True)
class Activity:
    """Movement at `start` + n * `step_s` (POSIX seconds by the camera's clock).

    `values`: twenty times the log of 1 + changed area (in square shells) times its mean change in levels,
    whole numbers 0 to 255; -1 where there was no picture to compare with the one before, or the light was
    switching.
    """

    start: float
    step_s: float
    values: tuple[int, ...]

    def times(self) -> Floats:
        """(n,) POSIX seconds."""
        return np.asarray(self.start + self.step_s * np.arange(len(self.values)), np.float64)

    def levels(self) -> Floats:
        """(n,) values, NaN where unseen."""
        values = np.array(self.values, np.float64)
        return np.asarray(np.where(values < 0, np.nan, values), np.float64)


def activity_of(
    blobs: Sequence[Blob],
    frames: Sequence[float],
    inside: Callable[[float, float], bool],
    *,
    shell_px: float,
    step_s: float,
    switches: Sequence[float] = (),
) -> Activity | None:
    """The movement of a night; None with fewer than three frames.

    `frames`: POSIX seconds of all skimmed frames, rising. `inside`: whether a (row, column) of the skim
    picture lies in a nesting zone. `shell_px`: shell length in skim pixels. `switches`: POSIX seconds at
    which the camera changed between colour and infrared, which it does at a time of its own. Movement seen
    between two frames counts for the middle between them.
    """
    if len(frames) < 3:
        return None
    at = np.array(frames, np.float64)
    moved = np.zeros(len(at))
    index = np.searchsorted(at, [blob.at for blob in blobs])
    for i, blob in zip(index, blobs, strict=True):
        if i < len(at) and inside(blob.row, blob.column):
            moved[i] += blob.area / shell_px**2 * blob.change
    gaps = np.diff(at)
    step = max(step_s, float(np.median(gaps)))
    middle, level = at[1:] - gaps / 2, _LEVELS * np.log1p(moved[1:])
    grid = np.arange(middle[0], middle[-1] + step / 2, step)
    known = _known(grid, at, gaps, step) & ~_near(grid, switches)
    values = np.clip(np.round(np.interp(grid, middle, level)), 0, _MOST).astype(int)
    return Activity(float(grid[0]), step, tuple(int(v) for v in np.where(known, values, UNSEEN)))


def _known(grid: Floats, frames: Floats, gaps: Floats, step: float) -> NDArray[np.bool_]:
    """Where two frames close to each other stand on either side of a time."""
    before = np.clip(np.searchsorted(frames, grid, "right") - 1, 0, len(gaps) - 1)
    return np.asarray(gaps[before] <= 2.5 * step)


def _near(grid: Floats, switches: Sequence[float]) -> NDArray[np.bool_]:
    out = np.zeros(len(grid), bool)
    for at in switches:
        out |= np.abs(grid - at) <= _SWITCH_S
    return out
