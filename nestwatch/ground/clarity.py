"""How clearly each part of the picture shows the ground in each half minute, whatever the noise and gain.

The medians of two successive bins show the same ground with independent noise, so the mean product of their
detail is the power of what is really seen; noise averages out of it. Detail is split into two bands of a
Laplacian pyramid (Burt & Adelson 1983, doi 10.1109/TCOM.1983.1095851): `fine` is lost first to a blurred
lens, both go with fog, a web or darkness.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.records import Bins, Floats

_PAIR_BINS = 2.5
_PATCH_SHELLS = 1.0


@dataclass(frozen=True, slots=True)
class Clarity:
    """What could be seen in patches about a shell wide, dividing the window evenly: (n bins, rows, columns).

    `level`: float32 mean luma. `fine`, `broad`: float32 power in levels² of detail about 4 to 8 and 8 to 32
    skim pixels long; NaN for a bin without a neighbour in time and light. Slightly below 0 is noise.
    """

    level: Floats
    fine: Floats
    broad: Floats


def patch_shape(bins: Bins) -> tuple[int, int]:
    """(rows, columns) of patches in the window."""
    grid = bins.grid
    side = _PATCH_SHELLS * max(grid.shell_px, 8.0)
    return max(1, round(grid.rows / side)), max(1, round(grid.columns / side))


def measure_clarity(bins: Bins) -> Clarity:
    """The clarity of every bin; one pass over the medians."""
    count, shape = len(bins.times), patch_shape(bins)
    level = np.zeros((count, *shape), np.float32)
    pairs = np.full((2, count + 1, *shape), np.nan, np.float32)
    last: tuple[Floats, Floats] | None = None
    for k in range(count):
        half = _half(bins.median[k])
        level[k] = patches_of(half, shape)
        bands = _bands(half)
        if last is not None and _neighbours(bins, k):
            for band, (one, other) in enumerate(zip(last, bands, strict=True)):
                pairs[band, k] = patches_of(one * other, shape)
        last = bands
    # A bin is as clear as its better neighbour shows: at a nudge or a jump of the gain one side is spoilt.
    best = np.fmax(pairs[:, :-1], pairs[:, 1:])
    return Clarity(level, best[0], best[1])


def patch_likeness(bins: Bins, one: int, other: int) -> Floats:
    """(rows, columns) correlation of the broad detail of two bins in each patch, -1..1."""
    shape = patch_shape(bins)
    first, second = (detail(bins.median[k])[1] for k in (one, other))
    power = patches_of(first * first, shape) * patches_of(second * second, shape)
    return np.asarray(patches_of(first * second, shape) / np.sqrt(power + 1e-6), np.float32)


def detail(picture: NDArray[np.uint8]) -> tuple[Floats, Floats]:
    """Fine and broad detail of a bin's median, each float32 at half its size (rows, columns)."""
    return _bands(_half(picture))


def _half(picture: NDArray[np.uint8]) -> Floats:
    return _shrunk(np.asarray(picture, np.float32), 2)


def _neighbours(bins: Bins, k: int) -> bool:
    near = bins.times[k] - bins.times[k - 1] <= _PAIR_BINS * bins.step_s
    return bool(near and bins.spell[k] == bins.spell[k - 1])


def _bands(half: Floats) -> tuple[Floats, Floats]:
    """Fine and broad detail of a half-size picture."""
    quarter = _shrunk(half, 2)
    coarse = _shrunk(quarter, 4)
    return half - _enlarged(quarter, half), quarter - _enlarged(coarse, quarter)


def _shrunk(picture: Floats, by: int) -> Floats:
    rows, columns = (max(1, side // by) for side in picture.shape)
    return np.asarray(cv2.resize(picture, (columns, rows), interpolation=cv2.INTER_AREA), np.float32)


def _enlarged(picture: Floats, like: Floats) -> Floats:
    size = like.shape[1], like.shape[0]
    return np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_LINEAR), np.float32)


def patches_of(picture: Floats, shape: tuple[int, int]) -> Floats:
    """Means of a picture in `shape` (rows, columns) of patches that divide it evenly."""
    size = shape[1], shape[0]
    return np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), np.float32)
