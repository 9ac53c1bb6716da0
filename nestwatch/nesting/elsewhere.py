"""How much else moves in the picture: insects by the hundred, snow, leaves in the wind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.records import Blob

Numbers = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A night's changed patches. `frames`: (m,) POSIX seconds of the frames that were compared, in order;
    `at`, `rows`, `columns`: (n,) when and where (skim picture) each patch was, by time."""

    frames: Numbers = field(default_factory=lambda: np.zeros(0))
    at: Numbers = field(default_factory=lambda: np.zeros(0))
    rows: Numbers = field(default_factory=lambda: np.zeros(0))
    columns: Numbers = field(default_factory=lambda: np.zeros(0))

    def per_frame(self, start: float, end: float, row: float, column: float, reach: float) -> float:
        """Patches a frame from `start` to `end` (POSIX seconds) farther than `reach` skim pixels from a place
        of the skim picture; 0 where no frame was read."""
        first, last = np.searchsorted(self.frames, (start, end))
        a, b = np.searchsorted(self.at, (start, end))
        if last <= first:
            return 0.0
        far = np.hypot(self.rows[a:b] - row, self.columns[a:b] - column) > reach
        return float(far.sum()) / float(last - first)


NOTHING_MOVED = Elsewhere()


def elsewhere(blobs: Sequence[Blob], frames: Sequence[float]) -> Elsewhere:
    """The same of a night's patches and the instants (POSIX seconds) of its frames."""
    found = np.array(sorted((b.at, b.row, b.column) for b in blobs), np.float64).reshape(-1, 3)
    return Elsewhere(np.sort(np.array(frames, np.float64)), found[:, 0], found[:, 1], found[:, 2])
