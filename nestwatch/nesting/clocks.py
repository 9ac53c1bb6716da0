"""How far the clocks of two cameras of one pen disagree, from what both of them saw.

What moves in the pen moves in both pictures. The two series of movement are compared at every shift
(normalised cross-correlation with gaps left out, Padfield 2012, doi 10.1109/TIP.2011.2181402); where one
shift stands out it is the answer, and how much it changes when any half hour is left out tells how sure it
is. Nights too still for that are settled by starts and ends of shared stays and by visitors, which are good
to half a minute only, and say so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from nestwatch.nesting.activity import Activity

Floats = NDArray[np.float64]
FARTHEST_S = 1800.0
WORTH_TELLING_S = 5.0
_SLOW_S = 600.0
_STRETCH_S = 1800.0
_NEAR_S = 60.0
_CLEAR = 5.0
_RIVAL = 0.6
_TOP = 0.8
_FEWEST = 3
_LEAST_WITHIN_S = 2.0
_EDGE_S = 25.0
_MEDIAN_COST = 1.2533  # standard error of a normal sample's median over that of its mean (Kendall & Stuart)


@dataclass(frozen=True, slots=True)
class Disagreement:
    """`camera`'s clock runs `ahead_s` seconds ahead of `other`'s (negative: behind).

    `within_s`: half the width of the 95 % interval. `events`: how many shared events it rests on; `by`:
    what they are.
    """

    camera: str
    other: str
    ahead_s: float
    within_s: float
    events: int
    by: str

    @property
    def worth_telling(self) -> bool:
        """True where it is more than five seconds, and more than chance could make it."""
        return abs(self.ahead_s) > WORTH_TELLING_S and abs(self.ahead_s) > self.within_s

    def ahead(self) -> Disagreement:
        """The same, named from the camera that is ahead."""
        if self.ahead_s >= 0:
            return self
        return replace(self, camera=self.other, other=self.camera, ahead_s=-self.ahead_s)


def by_movement(camera: str, one: Activity, other_camera: str, other: Activity) -> Disagreement | None:
    """The disagreement of two cameras' movement; None where no single shift stands out."""
    a, b, step = _together(one, other)
    whole = _best_shift(a, b, round(FARTHEST_S / step))
    if whole is None or whole.clear < _CLEAR or whole.rival > _RIVAL:
        return None
    count, error = _spread(a, b, step, whole.at)
    if count < _FEWEST:
        return None
    within = max(_LEAST_WITHIN_S, step / 2, 1.96 * error)
    return Disagreement(camera, other_camera, float(step * whole.at), within, count, "half hours of movement")


def by_events(camera: str, other_camera: str, later_s: Sequence[float]) -> Disagreement | None:
    """The disagreement from pairs of one event's times: `later_s` is how much later `camera` has each.

    None with fewer than three, or where they do not agree beyond chance.
    """
    if len(later_s) < _FEWEST:
        return None
    ahead, within = _median(np.array(later_s, np.float64), _EDGE_S / np.sqrt(len(later_s)))
    return Disagreement(camera, other_camera, ahead, within, len(later_s), "starts and ends")


def ahead_of_all(found: Sequence[Disagreement]) -> dict[str, float]:
    """Seconds that each camera named is ahead of the mean of those it is compared with.

    By least squares over all pairs, each weighted by its interval (the smallest solution where a part of the
    cameras hangs together by itself).
    """
    cameras = sorted({name for each in found for name in (each.camera, each.other)})
    if not cameras:
        return {}
    table = np.zeros((len(found), len(cameras)))
    for row, each in enumerate(found):
        table[row, cameras.index(each.camera)] = 1 / each.within_s
        table[row, cameras.index(each.other)] = -1 / each.within_s
    ahead = np.linalg.lstsq(table, np.array([each.ahead_s / each.within_s for each in found]), rcond=None)[0]
    return {name: float(value) for name, value in zip(cameras, ahead, strict=True)}


def _median(values: Floats, least: float) -> tuple[float, float]:
    """(median, half width of its 95 % interval), the spread from the median absolute deviation."""
    middle = float(np.median(values))
    sigma = 1.4826 * float(np.median(np.abs(values - middle)))
    return middle, max(least, 1.96 * _MEDIAN_COST * sigma / float(np.sqrt(len(values))))


@dataclass(frozen=True, slots=True)
class _Shift:
    """`at`: steps the first series is later. `clear`: the peak over the spread of all other shifts.

    `rival`: the highest other peak as a part of it.
    """

    at: float
    clear: float
    rival: float


def _together(one: Activity, other: Activity) -> tuple[Floats, Floats, float]:
    """Both series on one grid of times, and its step in seconds; NaN where unseen."""
    step = max(one.step_s, other.step_s)
    starts, ends = zip(*((t[0], t[-1]) for t in (one.times(), other.times())), strict=True)
    grid = np.arange(min(starts), max(ends) + step / 2, step)
    a, b = (
        _quick(np.interp(grid, each.times(), each.levels(), np.nan, np.nan), step) for each in (one, other)
    )
    return a, b, step


def _quick(series: Floats, step: float) -> Floats:
    """What is left of a series after its running mean of ten minutes: dusk, wind and rain come slowly."""
    known = np.isfinite(series)
    size = max(3, round(_SLOW_S / step))
    total = uniform_filter1d(np.where(known, series, 0.0), size, mode="constant")
    share = uniform_filter1d(known.astype(float), size, mode="constant")
    return np.asarray(np.where(known, series - total / np.maximum(share, 1e-9), np.nan), np.float64)


def _best_shift(a: Floats, b: Floats, reach: int) -> _Shift | None:
    """The shift at which two series on one grid agree best, up to `reach` steps either way."""
    shifts, r = _correlation(a, b, reach)
    good = np.isfinite(r)
    if good.sum() < 8 or not np.nanmax(r) > 0:
        return None
    best = int(np.nanargmax(r))
    return _Shift(shifts[best] + _between(r, best), *_standing(r, best))


def _standing(r: Floats, best: int) -> tuple[float, float]:
    """How far the peak stands above the spread of the other shifts, and the best of these as a part of it."""
    away = np.abs(np.arange(len(r)) - best) > max(3, len(r) // 40)
    others = r[away & np.isfinite(r)]
    if len(others) < 8:
        return 0.0, 1.0
    middle = float(np.median(others))
    spread = 1.4826 * float(np.median(np.abs(others - middle)))
    return (float(r[best]) - middle) / max(spread, 1e-9), float(others.max()) / float(r[best])


def _correlation(a: Floats, b: Floats, reach: int) -> tuple[NDArray[np.int64], Floats]:
    """(shifts, correlation at each): NaN where fewer than a fifth of the steps are known in both."""
    masks = [np.isfinite(x).astype(float) for x in (a, b)]
    x, y = (np.nan_to_num(each) for each in (a, b))
    whole = slice(len(b) - 1 - min(reach, len(b) - 1), len(b) + min(reach, len(a) - 1))

    from scipy.signal import correlate  # dear to load, and most sites have one camera a pen

    def lagged(one: Floats, other: Floats) -> Floats:
        return np.asarray(correlate(one, other, mode="full", method="fft")[whole], np.float64)

    count = lagged(masks[0], masks[1])
    size = lagged(x**2, masks[1]) * lagged(masks[0], y**2)
    enough = (count > 0.2 * max(masks[0].sum(), masks[1].sum())) & (size > 1e-6)
    r = np.full(len(count), np.nan)
    np.divide(lagged(x, y), np.sqrt(np.maximum(size, 1e-12)), out=r, where=enough)
    return np.arange(whole.start, whole.stop) - (len(b) - 1), r


def _between(r: Floats, best: int) -> float:
    """Where the peak lies from its highest step on, by a parabola through its upper fifth (in steps).

    A broad peak's highest step is a matter of noise; what lies around it is even on both sides.
    """
    below = np.flatnonzero(~(r >= _TOP * r[best]))
    low = int(below[below < best].max(initial=-1)) + 1
    high = int(below[below > best].min(initial=len(r)))
    low, high = max(0, min(low, best - 1)), min(len(r), max(high, best + 2))
    if high - low < 3 or not np.isfinite(r[low:high]).all():
        return 0.0
    bend, slope, _ = np.polyfit(np.arange(low, high) - best, r[low:high], 2)
    return 0.0 if bend >= 0 else float(np.clip(-slope / (2 * bend), low - best, high - 1 - best))


def _spread(a: Floats, b: Floats, step: float, shift: float) -> tuple[int, float]:
    """(half hours in which both saw movement, standard error of the shift in seconds without any one of
    them).

    Jackknife over blocks (Kuensch 1989, doi 10.1214/aos/1176347265).
    """
    later, size = _moved(b, round(shift)), round(_STRETCH_S / step)
    parts = [slice(first, first + size) for first in range(0, len(a), size)]
    parts = [part for part in parts if _both_move(a[part], later[part])]
    found = [_best_shift(_without(a, part), later, max(3, round(_NEAR_S / step))) for part in parts]
    at = np.array([step * each.at for each in found if each is not None])
    count = len(at)
    error = float(np.sqrt((count - 1) / count * np.square(at - at.mean()).sum())) if count else 0.0
    return count, error


def _both_move(a: Floats, b: Floats) -> bool:
    known = np.isfinite(a) & np.isfinite(b)
    return bool(known.any() and a[known].std() > 0 and b[known].std() > 0 and (a[known] * b[known]).sum() > 0)


def _without(series: Floats, part: slice) -> Floats:
    out = series.copy()
    out[part] = np.nan
    return out


def _moved(series: Floats, steps: int) -> Floats:
    """`series` later by `steps`, NaN where nothing is known."""
    out = np.full(len(series), np.nan)
    if steps >= 0:
        out[steps:] = series[: len(series) - steps]
    else:
        out[:steps] = series[-steps:]
    return out


Span = tuple[float, float]


def shared_spans(one: Sequence[Span], other: Sequence[Span], *, reach_s: float = 600.0) -> list[float]:
    """How much later `one` has the starts and ends of what both saw.

    Spans are (start, end) in POSIX seconds of one kind of event. Two belong together where both begin and
    both end within `reach_s`, and neither has a second candidate.
    """
    close = np.array([[max(abs(a[0] - b[0]), abs(a[1] - b[1])) <= reach_s for b in other] for a in one])
    if not close.size:
        return []
    alone = close & (close.sum(axis=0) == 1) & (close.sum(axis=1) == 1)[:, np.newaxis]
    pairs = [(one[i], other[j]) for i, j in zip(*np.nonzero(alone), strict=True)]
    return [a[edge] - b[edge] for a, b in pairs for edge in (0, 1)]
