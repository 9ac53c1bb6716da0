"""What hangs or grows before the lens and moves in one place again and again for hours: a web, a branch.

Its bouts are minutes apart, so that it is at rest more often than not; but no visit or raid lasts as long.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.records import Blob
from nestwatch.nesting.squares import occupied

_SLOT_S, _AROUND = 300.0, 18
_SLOTS, _SPAN = 9, 18
"""Stretches of five minutes with something large in the same place from which on it hangs there, and how many
lie between the first and the last of them: an hour and a half, longer than any raid."""
_ELSEWHERE = 2
"""Such stretches in half of all squares above which it is no one thing that moves, but moths by the hundred:
4 among invented ones, 0 to 1 around webs."""


@dataclass(frozen=True, slots=True)
class Hanging:
    """Where and when something hung. `began`: POSIX seconds of the first slot of five minutes; `cells`: bool
    (slots, rows, columns) of squares `side` skim pixels long from the skim picture's corner."""

    began: float
    side: float
    cells: NDArray[np.bool_]

    def over(self, at: float, row: float, column: float) -> bool:
        """Whether it hung over a place of the skim picture at an instant (POSIX seconds)."""
        return self.share(at, at, row, column) > 0

    def share(self, start: float, end: float, row: float, column: float) -> float:
        """Share of the slots from `start` to `end` in which it hung over a place of the skim picture."""
        first, last = (int((at - self.began) // _SLOT_S) for at in (start, end))
        k, r, c = self.cells.shape
        i, j = int(row / self.side), int(column / self.side)
        if not (0 <= i < r and 0 <= j < c):
            return 0.0
        hung = self.cells[min(max(first, 0), k) : max(last + 1, 0), i, j].sum()
        return float(hung) / (last + 1 - first)


NOTHING = Hanging(0.0, 1.0, np.zeros((0, 1, 1), np.bool_))


def find_hanging(large: Sequence[Blob], side: float) -> Hanging:
    """What hangs, from the night's patches that only larger animals make.

    `side`: of the squares in which they are counted, skim pixels.
    """
    if not large:
        return NOTHING
    began = min(blob.at for blob in large)
    slots = [int((blob.at - began) / _SLOT_S) for blob in large]
    active = occupied(large, slots, side, count=max(slots) + 1)
    around = [active[max(0, k - _AROUND) : k + _AROUND + 1] for k in range(len(active))]
    return Hanging(began, side, np.array([_hangs(part) for part in around]))


def _hangs(active: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(rows, columns) where something moved in many of the slots (first axis), far enough apart."""
    count = active.sum(axis=0)
    first, last = active.argmax(axis=0), len(active) - active[::-1].argmax(axis=0)
    alone = np.median(count) <= _ELSEWHERE
    return np.asarray((count >= _SLOTS) & (last - first >= _SPAN) & alone, np.bool_)
