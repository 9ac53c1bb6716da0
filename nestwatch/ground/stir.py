"""What keeps stirring on one spot: energy of successive frames against the ring's and the spot's quiet.

Dividing by the ring around a spot cancels gain, rain and a dusk that grows noisy; dividing by the spot's own
quiet quarter cancels plants that always move and pixels that always flicker. A moth crosses a spot in one
bin out of many, so only the mean of ten minutes counts, with each half minute capped.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from nestwatch.ground.records import CELL, Bins, Floats

ACTIVE = 0.35
"""Log ratio of energy to quiet above which a half minute counts as active (about 1.4 times)."""
_SUSTAIN_S = 600.0
_SPREADS = 5.0
FLOOR = 0.3
"""Levels²: twice the energy of rounding to whole levels (1/6 for differences). In a stream coded to no noise
at all, ratios to anything less would make a flicker of one block as loud as a limb."""
_CEILING = 1.5


@dataclass(frozen=True, slots=True)
class Stir:
    """A spot that kept stirring. `row`, `column`: centre in the window, skim pixels.

    `first`, `last`: bin numbers [first, last). `strength`: mean log ratio there and then. `area`: its usual
    extent in skim pixels².
    """

    row: float
    column: float
    first: int
    last: int
    strength: float
    area: float


def stirring(bins: Bins) -> Floats:
    """Log of body-sized energy over what light and texture, ring and own quiet lead one to expect.

    float32, shape of `bins.energy`; about 0 where nothing moves, NaN where a bin had no energy. The spot's
    own quiet level is the lower quarter of each light spell.
    """
    kernel = max(1, round(bins.grid.shell_px * 0.8 / CELL))
    out = np.empty_like(bins.energy)
    for i, cells in enumerate(bins.energy):
        level = np.log(cv2.blur(cells, (kernel, kernel)) + FLOOR)
        level = level - _expected(level, _appearance(bins.median[i], level.shape, kernel))
        out[i] = level - _ring(level, 2 * kernel + 1, 6 * kernel + 1)
    for spell in np.unique(bins.spell):
        members = bins.spell == spell
        known = members & np.isfinite(out[:, 0, 0])
        if known.any():
            sample = np.flatnonzero(known)[:: max(1, int(known.sum()) // 400)]
            out[members] -= np.percentile(out[sample], 25, axis=0).astype(np.float32)
    return out


def _appearance(picture: NDArray[np.uint8], shape: tuple[int, ...], kernel: int) -> Floats:
    """(cells, 4) one, log brightness, its square, and log contrast of each cell's surroundings."""
    size = (shape[1], shape[0])
    image = picture.astype(np.float32)
    mean = cv2.blur(cv2.resize(image, size, interpolation=cv2.INTER_AREA), (kernel, kernel))
    square = cv2.blur(cv2.resize(image * image, size, interpolation=cv2.INTER_AREA), (kernel, kernel))
    light = np.log(mean + 4.0).ravel() - 4.0
    contrast = 0.5 * np.log(np.maximum(square - mean * mean, 0.0) + 1.0).ravel()
    return np.stack([np.ones_like(light), light, light * light, contrast], axis=1)


def _expected(level: Floats, appearance: Floats) -> Floats:
    """Log energy expected of each cell from its light and texture alone: a line fitted to the whole window.

    Sensor noise grows with light and gain, and an encoder spends more on texture, so at dusk a still shell
    drifts against the soil around it (photon transfer, Janesick 2007). The fit is repeated without the
    cells that lie far above it, which are what moves.
    """
    values, kept = level.ravel(), np.isfinite(level.ravel())
    weights = np.zeros(appearance.shape[1], np.float32)
    for _ in range(3):
        if kept.sum() < 50:
            break
        weights = np.linalg.lstsq(appearance[kept], values[kept], rcond=None)[0].astype(np.float32)
        off = values - appearance @ weights
        kept = np.isfinite(off) & (off < 2.0 * float(np.nanstd(off[kept])))
    return np.asarray((appearance @ weights).reshape(level.shape), np.float32)


def _ring(level: Floats, inner: int, outer: int) -> Floats:
    """Mean of `level` in the square ring between `inner` and `outer` cells around each cell."""
    whole = cv2.blur(level, (outer, outer)) * outer**2
    middle = cv2.blur(level, (inner, inner)) * inner**2
    return np.asarray((whole - middle) / (outer**2 - inner**2), np.float32)


def find_stirs(bins: Bins, stir: Floats, wanted: NDArray[np.bool_]) -> list[Stir]:
    """Spots inside `wanted` (bool, cell size) whose mean over some ten minutes stands out from all others'.

    The threshold rises with the spread of the whole window at that time: in rain, or at dusk when noise
    passes the encoder in some blocks and not in others, many spots stir a little.
    """
    span = max(3, round(_SUSTAIN_S / bins.step_s))
    active = np.zeros(stir.shape, np.bool_)
    for spell in np.unique(bins.spell):
        members = np.flatnonzero(bins.spell == spell)
        mean = ndimage.uniform_filter1d(np.nan_to_num(np.minimum(stir[members], _CEILING)), span, axis=0)
        active[members] = mean > np.maximum(ACTIVE, _SPREADS * _spread(mean))[:, None, None]
    labels, _ = ndimage.label(active & wanted, structure=np.ones((3, 3, 3)))
    found = ndimage.find_objects(labels)
    stirs = [_stir(i, where, labels, stir) for i, where in enumerate(found, start=1)]
    return [s for s in stirs if (s.last - s.first) >= span // 2]


def _spread(mean: Floats) -> Floats:
    """(n,) robust spread of each bin's cells around their median."""
    cells = mean.reshape(len(mean), -1)[:, ::3]
    middle = np.median(cells, axis=1, keepdims=True)
    return np.asarray(1.4826 * np.median(np.abs(cells - middle), axis=1), np.float32)


def _stir(label: int, where: tuple[slice, ...], labels: NDArray[np.int32], stir: Floats) -> Stir:
    part = labels[where] == label
    values = np.where(part, np.nan_to_num(stir[where]), 0.0)
    weight = np.maximum(values, 0.0).sum(axis=0) + 1e-6 * part.any(axis=0)
    rows, columns = np.indices(weight.shape)
    total = float(weight.sum())
    row = (float((weight * rows).sum()) / total + where[1].start + 0.5) * CELL
    column = (float((weight * columns).sum()) / total + where[2].start + 0.5) * CELL
    strength = float(values.sum() / part.sum())
    area = float(np.percentile(part.sum(axis=(1, 2)), 75)) * CELL**2
    return Stir(row, column, where[0].start, where[0].stop, strength, area)


def weather_steps(bins: Bins, edge: int, *, reach: int = 10) -> float:
    """How much the whole window's energy changes at bin `edge`: absolute log ratio, 0 if it cannot be told.

    Rain begins and ends everywhere at once; an animal comes and goes alone.
    """
    before, after = np.arange(edge - reach, edge), np.arange(edge, edge + reach)
    if before[0] < 0 or after[-1] >= len(bins.times) or len(np.unique(bins.spell[np.r_[before, after]])) > 1:
        return 0.0
    levels = []
    for members in (before, after):
        cells = bins.energy[members][:, ::2, ::2].reshape(len(members), -1)
        known = cells[np.isfinite(cells[:, 0])]
        if not len(known):
            return 0.0
        levels.append(np.median(np.log(np.median(known, axis=1) + FLOOR)))
    return float(abs(levels[1] - levels[0]))
