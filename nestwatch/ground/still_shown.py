"""Whether a part of the picture that looks faint shows the ground as clearly as it is seen at other times.

What is usual is told by the night itself. Where creeping shadows, or specks of dew, lend the ground a
structure of their own for hours, the plain ground looks faint beside it; what hides the ground takes its own
structure away. So the ground as it looks now is sought in how it looks then, and must be as strong here as
there.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.clarity import detail, patch_shape, patches_of
from nestwatch.ground.health_records import Bools
from nestwatch.ground.health_spans import runs
from nestwatch.ground.health_view import FADED, View, partly
from nestwatch.ground.records import Bins, Floats

_LEAST_OTHERS, _LOOKS = 10, 24
_BRIEF_S = 300.0
_ALIKE = 0.3
"""Correlation above which it is the same ground: 0.45 beside specks that make the usual five times as strong;
below 0.1 in the fine detail of ground under drops."""


def without_shown(view: View, bins: Bins, weights: Floats) -> View:
    """`view` less what is called covered in it though the ground shows there as it does when nothing is."""
    faint, hidden, covered = view.faint.copy(), view.hidden.copy(), view.covered.copy()
    others = ~(view.covered | view.dark | view.frozen | view.fogged | view.blurred | view.glare)
    for first, last in runs(view.covered, bins, least_s=_BRIEF_S):
        where = (view.faint[first:last].mean(axis=0) > 0.5) & (weights > 0)
        if still_shown(bins, first, last, where, others):
            faint[first:last, where] = hidden[first:last, where] = False
            covered[first:last] &= partly(faint[first:last], weights)
    return replace(view, faint=faint, hidden=hidden, covered=covered)


def still_shown(bins: Bins, first: int, last: int, where: Bools, others: Bools) -> bool:
    """Whether bins [first, last) show the ground in the patches `where` (rows, columns) no weaker than others
    do.

    `others`: (n,) bins in which nothing hides it. False where too few of them have the same light.
    """
    chosen = np.flatnonzero(others & (bins.spell == bins.spell[first]))
    chosen = chosen[(chosen < first) | (chosen >= last)]
    if len(chosen) < _LEAST_OTHERS or not where.any():
        return False
    shape = patch_shape(bins)
    here, there = _looks(bins, np.arange(first, last)), _looks(bins, chosen)
    for now, then in zip(here, there, strict=True):
        pairs = (now, then), (now, now), (then, then)
        both, own, theirs = (float(patches_of(a * b, shape)[where].sum()) for a, b in pairs)
        # A veil leaves a weak copy, in which the others' ground is many times as strong.
        if both < _ALIKE * math.sqrt(own * theirs) or both > own / FADED:
            return False
    return True


def _looks(bins: Bins, members: NDArray[np.int64]) -> tuple[Floats, Floats]:
    """Mean fine and broad detail of some bins, evenly picked."""
    picked = members[:: max(1, len(members) // _LOOKS)]
    looks = [detail(bins.median[k]) for k in picked]
    fine, broad = (np.mean([look[band] for look in looks], axis=0) for band in (0, 1))
    return np.asarray(fine, np.float32), np.asarray(broad, np.float32)
