"""Two-minute epochs: bins averaged and locally normalised, and how each tile resembles itself all night."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.grain import grain
from nestwatch.ground.normalise import light_level, lit_ground, local_normal, without_shine
from nestwatch.ground.records import Bins, Floats, Times

_NOISE_MARGIN = 6.0
_LEAST_NOISE = 0.02
_PICTURES = 32


@dataclass(frozen=True, slots=True)
class Epochs:
    """A light spell in steps of `step_s` seconds on a regular clock; `seen` is False where nothing was read.

    `times`: (m,) start of each epoch. `picture`: float32 (m, rows/2, columns/2), locally normalised, zeros
    where not seen. `side`: tile side in half-size pixels. `noise`: squared difference of neighbouring epochs
    per tile expected from noise alone.
    """

    times: Times
    step_s: float
    seen: NDArray[np.bool_]
    picture: Floats
    grain: Floats
    side: int
    noise: float


def make_epochs(bins: Bins, spell: int, *, step_s: float = 120.0) -> Epochs:
    """The epochs of one light spell of a night."""
    step_s = max(step_s, bins.step_s)
    members = np.flatnonzero(bins.spell == spell)
    first = bins.times[members[0]]
    index = ((bins.times[members] - first) // step_s).astype(int)
    count = int(index[-1]) + 1
    rows, columns = bins.grid.rows // 2, bins.grid.columns // 2
    side = max(4, round(bins.grid.shell_px / 2))
    small = np.zeros((count, rows, columns), np.float32)
    seen = np.zeros(count, np.bool_)
    for k in np.unique(index):
        mean = bins.median[members[index == k]].mean(axis=0, dtype=np.float32)
        small[k] = cv2.resize(mean, (columns, rows), interpolation=cv2.INTER_AREA)
        seen[k] = True
    picture, fine = _textures(small, seen, side)
    times = first + step_s * np.arange(count)
    return Epochs(times, step_s, seen, picture, fine, side, _noise(picture, seen, side))


def _textures(small: Floats, seen: NDArray[np.bool_], side: int) -> tuple[Floats, Floats]:
    """The epochs' pictures locally normalised, and their grain, without what shines; 0 if not seen."""
    picture, fine = np.zeros_like(small), np.zeros_like(small)
    told, around = np.flatnonzero(seen), 3 * side | 1
    levels = np.array([light_level(small[k]) for k in told])
    step = max(1, len(told) // _PICTURES)
    ground = lit_ground(small[told[::step]], levels[::step], around)
    for k, level in zip(told, levels, strict=True):
        matt = without_shine(small[k], ground, level)
        picture[k], fine[k] = local_normal(matt, around, floor=2.5), grain(matt, 0.7)
    return picture, fine


def _noise(picture: Floats, seen: NDArray[np.bool_], side: int) -> float:
    """Squared difference of successive epochs summed over a tile, in the quietest half of the picture."""
    pairs = np.flatnonzero(seen[1:] & seen[:-1])[:: max(1, len(seen) // 40)]
    if not len(pairs):
        return _LEAST_NOISE * side * side
    squares = [cv2.blur((picture[i + 1] - picture[i]) ** 2, (side, side)) for i in pairs]
    return max(_LEAST_NOISE, float(np.median(squares))) * side * side


def tile_corners(epochs: Epochs) -> Iterator[tuple[int, int]]:
    """(row, column) of each tile's first pixel in half-size pixels: tiles overlap by half."""
    stride = max(2, epochs.side // 2)
    rows, columns = epochs.picture.shape[1:]
    for row in range(0, rows - epochs.side + 1, stride):
        for column in range(0, columns - epochs.side + 1, stride):
            yield row, column


def tile_vectors(pictures: Floats, epochs: Epochs, corner: tuple[int, int]) -> Floats:
    """(m, side * side) the pixels of one tile in every epoch, of the epochs' `picture` or `grain`."""
    (row, column), side = corner, epochs.side
    return pictures[:, row : row + side, column : column + side].reshape(len(pictures), -1)


def unlikeness(epochs: Epochs, corner: tuple[int, int]) -> Floats:
    """How much a tile differs between any two epochs: float32 (m, m), 0 alike .. about 1 unrelated.

    Squared distance over the sum of squared sizes plus a noise term: for textured tiles this is one minus the
    normalised correlation; on flat ground, where correlation would be noise against noise, it stays near 0
    until something with texture comes. NaN where an epoch was not seen.
    """
    vectors = tile_vectors(epochs.picture, epochs, corner)
    power = np.einsum("ij,ij->i", vectors, vectors)
    gram = vectors @ vectors.T
    total = power[:, None] + power[None, :]
    return _where_seen(np.maximum(total - 2 * gram, 0.0) / (total + _NOISE_MARGIN * epochs.noise), epochs)


def grain_products(epochs: Epochs, corner: tuple[int, int]) -> Floats:
    """Mean product of a tile's grain, pixel by pixel, at every two epochs: float32 (m, m), about 1 for the
    same ground and 0 for unrelated ones. NaN where an epoch was not seen."""
    vectors = tile_vectors(epochs.grain, epochs, corner)
    return _where_seen(vectors @ vectors.T / vectors.shape[1], epochs)


def _where_seen(out: Floats, epochs: Epochs) -> Floats:
    """A matrix of every two epochs (m, m), changed in place: NaN where one of both was not seen."""
    out[~epochs.seen] = np.nan
    out[:, ~epochs.seen] = np.nan
    return np.asarray(out, np.float32)
