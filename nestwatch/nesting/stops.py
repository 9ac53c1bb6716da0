"""Where a larger animal stopped: it came, something moved on at that place, and it left again."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.records import Blob

_STILL_S = 120.0
_LEAST_S = 60.0


@dataclass(frozen=True, slots=True)
class StopSpan:
    """A stop in skim terms. `start`, `end`: POSIX seconds. `row`, `column`: middle place (skim picture)."""

    start: float
    end: float
    row: float
    column: float


def find_stops(
    blobs: Sequence[Blob],
    size: Callable[[Blob], float],
    *,
    large: float,
    medium: float,
    reach: float,
) -> list[StopSpan]:
    """Stops of at least a minute, by time.

    `size`: of a patch, in the unit of `large` and `medium`. `large`: what only a larger animal changes by
    walking; `medium`: what its head and paws change. A stop lasts from the first large patch to the last one
    within `reach` pixels, where patches of medium size tell that something is at work between them, with
    pauses of two minutes at most. A turtle that digs where a larger animal only walks by thus makes no stop.
    """
    rows = [(b.at, b.row, b.column, size(b)) for b in blobs]
    table = np.array(sorted(row for row in rows if row[3] >= medium)).reshape(-1, 4)
    free = table[:, 3] >= large
    out = []
    for index in np.flatnonzero(free):
        if not free[index]:
            continue
        near = np.hypot(table[:, 1] - table[index, 1], table[:, 2] - table[index, 2]) <= reach
        bout = _bout(table, np.flatnonzero(near), int(index))
        big = bout[table[bout, 3] >= large]
        free[big] = False
        span = table[big]
        if span[-1, 0] - span[0, 0] >= _LEAST_S:
            row, column = np.median(span[:, 1:3], axis=0)
            out.append(StopSpan(float(span[0, 0]), float(span[-1, 0]), float(row), float(column)))
    return sorted(out, key=lambda stop: stop.start)


def _bout(table: NDArray[np.float64], near: NDArray[np.int64], seed: int) -> NDArray[np.int64]:
    """The rows of `near` around `seed` without a pause longer than two minutes."""
    breaks = np.flatnonzero(np.diff(table[near, 0]) > _STILL_S) + 1
    return next(part for part in np.split(near, breaks) if seed in part)
