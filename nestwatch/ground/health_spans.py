"""Runs of bins in which something holds, with small breaks closed and short ones dropped."""

from __future__ import annotations

import numpy as np

from nestwatch.ground.health_records import Bools
from nestwatch.ground.records import Bins

_BREAK_S = 240.0


def runs(holds: Bools, bins: Bins, *, least_s: float) -> list[tuple[int, int]]:
    """[first, last) of every run of bins in which `holds` (n,) is True, of at least `least_s` seconds.

    Breaks of up to four minutes of the clock are closed.
    """
    merged: list[tuple[int, int]] = []
    for first, last in _plain_runs(holds):
        if merged and bins.times[first] - _end(merged[-1], bins) <= _BREAK_S:
            merged[-1] = (merged[-1][0], last)
        else:
            merged.append((first, last))
    return [run for run in merged if _end(run, bins) - bins.times[run[0]] >= least_s]


def _end(run: tuple[int, int], bins: Bins) -> float:
    """POSIX seconds at which a run ends."""
    return float(bins.times[run[1] - 1]) + bins.step_s


def _plain_runs(holds: Bools) -> list[tuple[int, int]]:
    edges = np.diff(np.concatenate([[0], holds.astype(np.int8), [0]]))
    firsts, lasts = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    return [(int(first), int(last)) for first, last in zip(firsts, lasts, strict=True)]
