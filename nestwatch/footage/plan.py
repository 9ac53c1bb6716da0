"""Which key frames to visit, and where every frame must be decoded instead. Pure arithmetic, no files."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

LONG_S = 20.5  # recorders go up to 20 s; keys further apart show too little of the night: decode between


@dataclass(frozen=True, slots=True)
class Visit:
    """Go to the key frame at `key`. Times are seconds since the recording's start.

    `until` None: take that key frame alone; where it is damaged, try `spare` in turn. Otherwise decode on
    from it and keep frames in [`start`, `until`).
    """

    key: float
    start: float
    until: float | None
    spare: tuple[float, ...] = ()


def plan(keys: NDArray[np.float64], start: float, end: float, every_s: float) -> list[Visit]:
    """Visits that show [`start`, `end`) about once every `every_s` seconds, in order.

    `keys` may be empty (no usable key frames): then everything is decoded.
    """
    if not len(keys):
        return [Visit(start, start, end)]
    inside = keys[(keys >= start) & (keys < end)]
    return [*_entry(keys, inside, start, end, every_s), *_visits(inside, end, every_s)]


def _entry(
    keys: NDArray[np.float64], inside: NDArray[np.float64], start: float, end: float, every_s: float
) -> list[Visit]:
    """How to see what lies before the first key frame of the stretch."""
    first = float(inside[0]) if len(inside) else end
    before = keys[keys < start]
    if first - start <= every_s or not len(before):
        return []
    until = first if first - start > LONG_S else min(first, start + every_s / 2)
    return [Visit(float(before[-1]), start, until)]


def _visits(inside: NDArray[np.float64], end: float, every_s: float) -> list[Visit]:
    visits: list[Visit] = []
    nexts = np.append(inside[1:], end)
    index = 0
    while index < len(inside):
        key = float(inside[index])
        if nexts[index] - key > LONG_S:
            visits.append(Visit(key, key, float(nexts[index])))
            index += 1
            continue
        ahead = _next(inside, nexts, index, every_s)
        visits.append(Visit(key, key, None, tuple(inside[index + 1 : ahead].tolist())))
        index = ahead
    return visits


def _next(inside: NDArray[np.float64], nexts: NDArray[np.float64], index: int, every_s: float) -> int:
    """Index of the key frame to visit after `index`: about `every_s` later, not beyond a long stretch's."""
    distances = inside - inside[index]
    after = max(int(np.searchsorted(distances, every_s)), index + 1)
    if after - 1 > index and _is_better(distances, after - 1, every_s):
        after -= 1
    if after == len(inside) - 1 and distances[after] < every_s / 2:
        after += 1
    long = np.flatnonzero(nexts[index + 1 : after] - inside[index + 1 : after] > LONG_S)
    return index + 1 + int(long[0]) if len(long) else after


def _is_better(distances: NDArray[np.float64], index: int, every_s: float) -> bool:
    """Should the key frame before the step be taken, or the one after it?"""
    if index + 1 == len(distances) or distances[index + 1] > 1.5 * every_s:
        return True
    return bool(every_s - distances[index] < distances[index + 1] - every_s)
