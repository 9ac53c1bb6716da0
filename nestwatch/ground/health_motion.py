"""A camera that was knocked, one that slowly sags, one whose picture fits no more."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.clarity import patch_likeness
from nestwatch.ground.health_records import Bools, Finding
from nestwatch.ground.health_spans import runs
from nestwatch.ground.records import Bins

_SIDE_BINS = 10
_LEAST_SIDE = 3
_KNOCK_PX = 1.0
_KNOCK_SPREADS = 4.0
_SAG_PX = 2.0
_SAG_SHARE = 0.1
_LOST_S = 300.0
_SAME_VIEW = 0.5

Places = NDArray[np.float64]


def find_motion(bins: Bins) -> list[Finding]:
    """Knocks, each at its instant, and a sag from when it began to when it ended."""
    known = np.flatnonzero(~np.isnan(bins.shift[:, 0]))
    if len(known) < 2 * _LEAST_SIDE:
        return []
    places, times = _places(bins)[known], bins.times[known]
    jumps = _jumps(places)
    to_picture = sum(bins.grid.to_picture) / 2
    found = [
        Finding("moved", _at(times[k]), _at(times[k] + bins.step_s), float(np.linalg.norm(step)))
        for k, step in jumps
    ]
    found += _sag(places, times, jumps, bins.step_s)
    return [Finding(f.what, f.start, f.end, f.amount * to_picture) for f in found]


def is_lost(bins: Bins, clear: Bools, faint: Bools) -> Bools:
    """(n,) bins of clear pictures that for five minutes could not be laid over the night's own.

    `clear`: (n,) False where the whole picture is bad; `faint`: (n, rows, columns) patches that show little.
    Where registration alone failed, over a web say, the other patches still look as they did before.
    """
    lost = np.zeros(len(bins.times), np.bool_)
    for first, last in runs(np.isnan(bins.shift[:, 0]) & clear, bins, least_s=_LOST_S):
        middle = (first + last) // 2
        if not first or not _is_same_view(bins, first - 1, middle, ~faint[middle]):
            lost[first:last] = np.isnan(bins.shift[first:last, 0])
    return lost


def _is_same_view(bins: Bins, one: int, other: int, shown: Bools) -> bool:
    """Whether most of the patches `shown` in the other bin look as they did in the one."""
    likeness = patch_likeness(bins, one, other)[shown]
    return bool(likeness.size) and float(np.median(likeness)) > _SAME_VIEW


def _places(bins: Bins) -> Places:
    """(n, 3) skim pixels: right, down, and what the turn moves the window's corner."""
    arm = np.hypot(bins.grid.rows, bins.grid.columns) / 2
    out = np.asarray(bins.shift, np.float64).copy()
    out[:, 2] = np.radians(out[:, 2]) * arm
    return out


def _jumps(places: Places) -> list[tuple[int, Places]]:
    """(first bin after, step) of every knock: where five minutes before and after differ most."""
    count = len(places)
    steps = np.zeros((count, 3))
    spread = np.full(count, np.inf)
    for k in range(_LEAST_SIDE, count - _LEAST_SIDE + 1):
        before, after = places[max(0, k - _SIDE_BINS) : k], places[k : k + _SIDE_BINS]
        middle_before, middle_after = np.median(before, axis=0), np.median(after, axis=0)
        steps[k] = middle_after - middle_before
        rest = np.concatenate([before - middle_before, after - middle_after])
        spread[k] = np.linalg.norm(np.median(np.abs(rest), axis=0))
    size = np.linalg.norm(steps, axis=1)
    out: list[tuple[int, Places]] = []
    for k in np.argsort(-size):
        if size[k] < _KNOCK_PX:
            break
        apart = all(abs(k - other) > _SIDE_BINS for other, _ in out)
        if apart and size[k] > _KNOCK_SPREADS * spread[k]:
            out.append((_sharpest(places, int(k)), steps[k]))
    return sorted(out, key=lambda jump: jump[0])


def _sharpest(places: Places, k: int) -> int:
    """The bin near `k` where the place changes most from one bin to the next."""
    low, high = max(1, k - _SIDE_BINS // 2), min(len(places), k + _SIDE_BINS // 2 + 1)
    return low + int(np.argmax(np.linalg.norm(np.diff(places[low - 1 : high], axis=0), axis=1)))


def _sag(
    places: Places, times: NDArray[np.float64], jumps: list[tuple[int, Places]], step_s: float
) -> list[Finding]:
    """What is left of the way when the knocks are taken out."""
    slow = places.copy()
    for k, step in jumps:
        slow[k:] -= step
    side = min(2 * _SIDE_BINS, len(slow) // 2)
    begin, end = np.median(slow[:side], axis=0), np.median(slow[-side:], axis=0)
    far = float(np.linalg.norm(end - begin))
    if far < _SAG_PX:
        return []
    share = (slow - begin) @ (end - begin) / far**2
    first = int(np.argmax(_settled(share) > _SAG_SHARE))
    last = int(len(share) - np.argmax(_settled(share)[::-1] < 1 - _SAG_SHARE))
    last = max(min(last, len(times)), first + 1)
    return [Finding("sagged", _at(times[first]), _at(times[last - 1] + step_s), far)]


def _settled(share: NDArray[np.float64]) -> NDArray[np.float64]:
    """Running median over about five minutes."""
    padded = np.pad(share, _SIDE_BINS // 2, mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, _SIDE_BINS + 1)
    return np.asarray(np.median(windows, axis=1)[: len(share)], np.float64)


def _at(posix: float) -> datetime:
    return datetime.fromtimestamp(float(posix), UTC)
