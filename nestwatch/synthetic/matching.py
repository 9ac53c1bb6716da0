"""One-to-one matching of found events with true ones, by rules that others published.

Two rules say which pairs may be matched: `collar_pairs` (onset and offset collars) and `overlap_pairs` (any
common time). `assign` then picks the largest set of pairs in which no event is used twice. Pure arithmetic:
times are seconds on any common clock, arrays are (true, found).

Source of the collar rule and of optimal matching: A. Mesaros, T. Heittola, T. Virtanen, "Metrics for
Polyphonic Sound Event Detection", Applied Sciences 6(6) 162, 2016, doi 10.3390/app6060162, as its authors'
toolbox sed_eval computes it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment

Span = tuple[float, float]
Pairs = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Counts:
    """How many events were true, found, and matched one to one."""

    true: int
    found: int
    matched: int

    @property
    def recall(self) -> float | None:
        """Share of the true events that were matched; None where there is none."""
        return self.matched / self.true if self.true else None

    @property
    def precision(self) -> float | None:
        """Share of the found events that were matched; None where there is none."""
        return self.matched / self.found if self.found else None

    @property
    def f_measure(self) -> float | None:
        """Harmonic mean of recall and precision, 2 matched / (true + found); None where both are empty."""
        total = self.true + self.found
        return 2 * self.matched / total if total else None

    def biased_f(self, recall_bias: float) -> float | None:
        """F of recall R and precision P that weighs R by the recall bias a: (a + 1) R P / (R + a P).

        Equal to (a + 1) matched / (found + a true), so 1 is the harmonic mean and a large bias is almost R.
        This is how the i-LIDS trials of stationary objects rated a system for its role (Home Office CAST,
        "The i-LIDS User Guide", publication 10/11, 2011). None where both are empty.
        """
        total = self.found + recall_bias * self.true
        return (recall_bias + 1) * self.matched / total if total else None

    def __add__(self, other: Counts) -> Counts:
        """The counts of two nights together."""
        return Counts(self.true + other.true, self.found + other.found, self.matched + other.matched)


def _edges(true: Sequence[Span], found: Sequence[Span]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The spans as (true, 1, 2) and (1, found, 2), ready to be combined pair by pair."""
    first = np.asarray(true, np.float64).reshape(-1, 1, 2)
    return first, np.asarray(found, np.float64).reshape(1, -1, 2)


def collar_pairs(
    true: Sequence[Span], found: Sequence[Span], *, collar_s: float, offset_share: float = 0.5
) -> Pairs:
    """Which pairs agree in time: bool (true, found).

    The onset must lie within `collar_s` of the true onset, the offset within `collar_s` or `offset_share` of
    the true event's length, whichever is longer (both limits included).
    """
    a, b = _edges(true, found)
    early, late = np.moveaxis(np.abs(a - b), -1, 0)
    allowed = np.maximum(collar_s, offset_share * (a[..., 1] - a[..., 0]))
    return np.asarray((early <= collar_s) & (late <= allowed))


def overlap(true: Sequence[Span], found: Sequence[Span]) -> NDArray[np.float64]:
    """Common time over joint time of every pair, float64 (true, found), 0 (apart) to 1 (equal)."""
    a, b = _edges(true, found)
    common = np.minimum(a[..., 1], b[..., 1]) - np.maximum(a[..., 0], b[..., 0])
    joint = np.maximum(a[..., 1], b[..., 1]) - np.minimum(a[..., 0], b[..., 0])
    return np.asarray(np.clip(common, 0, None) / np.where(joint > 0, joint, 1))


def assign(allowed: Pairs, closeness: NDArray[np.float64] | None = None) -> list[tuple[int, int]]:
    """The largest one-to-one set of allowed pairs, as (true, found) indices in order of the true events.

    Among sets of the same size the one with the largest sum of `closeness` (same shape, values 0..1) wins.
    """
    if not allowed.size:
        return []
    # More than all closeness together, so that one more pair always outweighs closer pairs.
    each = min(allowed.shape) + 1
    worth = np.where(allowed, each + (0 if closeness is None else closeness), 0.0)
    rows, columns = linear_sum_assignment(worth, maximize=True)
    return [(int(i), int(j)) for i, j in zip(rows, columns, strict=True) if allowed[i, j]]


def collar_counts(
    true: Sequence[Span], found: Sequence[Span], *, collar_s: float, offset_share: float = 0.5
) -> Counts:
    """Events matched under the collar rule of Mesaros et al. 2016, for one label."""
    allowed = collar_pairs(true, found, collar_s=collar_s, offset_share=offset_share)
    return Counts(len(true), len(found), len(assign(allowed)))
