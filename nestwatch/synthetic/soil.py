"""What the ground looks like from straight above: soil, stones, twigs, grass around the pen, the pond.

Maps are float32 (row, column) with row 0 at the lowest y. Reflectance 0..1 under infrared (`ir`) and by
day (`day`); `cb`, `cr` are the day's colour as levels away from grey at full daylight.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.synthetic.layout import Layout

Map = NDArray[np.float32]
Generator = np.random.Generator
MEAN_SOIL = 0.42
MARGIN_M = 4.0


@dataclass(frozen=True, slots=True)
class Soil:
    """The maps, their south-west corner `(x, y)` in metres and the side of a cell in metres."""

    corner: tuple[float, float]
    cell: float
    ir: Map
    day: Map
    cb: Map
    cr: Map
    bare: NDArray[np.bool_]

    def cells(self, x: Map, y: Map) -> tuple[Map, Map]:
        """Column and row (fractions, centre of the first cell = 0) of plan places."""
        return (x - self.corner[0]) / self.cell - 0.5, (y - self.corner[1]) / self.cell - 0.5


def grain(shape: tuple[int, int], sizes: dict[float, float], rng: Generator) -> Map:
    """Noise of several scales: `sizes` maps a grain size in cells to its share; the sum has deviation 1."""
    total = np.zeros(shape, np.float32)
    for size, share in sizes.items():
        small = (max(2, round(shape[0] / size)), max(2, round(shape[1] / size)))
        field = rng.standard_normal(small, dtype=np.float32)
        total += share * cv2.resize(field, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC)
    return np.asarray(total / max(float(total.std()), 1e-6), np.float32)


def make_soil(
    layout: Layout, *, contrast: float, stones: int, twigs: int, cell: float, rng: Generator
) -> Soil:
    """Draws the ground. `contrast`: standard deviation of bare soil as a share of its mean."""
    corner = (-MARGIN_M, -MARGIN_M)
    columns = round((layout.width + 2 * MARGIN_M) / cell)
    rows = round((layout.depth + 2 * MARGIN_M) / cell)
    unit = 0.005 / cell
    speckle = grain((rows, columns), {u * unit: s for u, s in _SOIL_GRAIN.items()}, rng)
    ir = MEAN_SOIL * (1 + contrast * speckle)
    x = ((np.arange(columns, dtype=np.float32) + 0.5) * cell + corner[0]).astype(np.float32)
    y = ((np.arange(rows, dtype=np.float32) + 0.5) * cell + corner[1]).astype(np.float32)[:, None]
    outside = (x < 0) | (x > layout.width) | (y < 0) | (y > layout.depth)
    lawn = grain((rows, columns), {2.0 * unit: 1.0, 5.0 * unit: 0.8, 60.0 * unit: 0.6}, rng)
    ir = np.where(outside, 0.58 + 0.12 * lawn, ir).astype(np.float32)
    day = np.where(outside, 0.30 + 0.06 * lawn, 0.95 * ir).astype(np.float32)
    cb = np.where(outside, -14.0, -9.0).astype(np.float32) + 1.5 * speckle
    cr = np.where(outside, -9.0, 7.0).astype(np.float32) + 1.0 * speckle
    soil = Soil(corner, cell, ir, day, cb, cr, ~outside)
    _scatter(soil, layout, stones, twigs, rng)
    _pond(soil, layout, x, y, rng)
    return soil


_SOIL_GRAIN = {1.6: 0.6, 3.0: 0.8, 8.0: 0.8, 25.0: 0.6, 120.0: 0.7}


def _scatter(soil: Soil, layout: Layout, stones: int, twigs: int, rng: Generator) -> None:
    """Stones with a lit and a dark side, and twigs and leaves, all inside the pen."""
    for _ in range(stones):
        at = _somewhere(soil, layout, rng)
        size = float(np.exp(rng.uniform(np.log(0.008), np.log(0.05)))) / soil.cell
        axes = (max(1, round(size)), max(1, round(size * rng.uniform(0.5, 0.9))))
        tone, angle = float(rng.uniform(0.3, 0.75)), float(rng.uniform(0, 180))
        for layer in (soil.ir, soil.day):
            below = (at[0], at[1] + max(1, axes[1] // 2))
            cv2.ellipse(layer, below, axes, angle, 0, 360, 0.6 * MEAN_SOIL, -1, cv2.LINE_8)
            cv2.ellipse(layer, at, axes, angle, 0, 360, tone, -1, cv2.LINE_8)
    for _ in range(twigs):
        at = _somewhere(soil, layout, rng)
        far = rng.normal(0, 0.06, 2) / soil.cell
        to = (int(at[0] + far[0]), int(at[1] + far[1]))
        tone, thick = (
            float(rng.uniform(0.2, 0.75)),
            max(1, round(float(rng.uniform(0.004, 0.012)) / soil.cell)),
        )
        for layer in (soil.ir, soil.day):
            cv2.line(layer, at, to, tone, thick, cv2.LINE_8)


def _somewhere(soil: Soil, layout: Layout, rng: Generator) -> tuple[int, int]:
    x, y = rng.uniform(0, layout.width), rng.uniform(0, layout.depth)
    return round((x - soil.corner[0]) / soil.cell), round((y - soil.corner[1]) / soil.cell)


def _pond(soil: Soil, layout: Layout, x: Map, y: Map, rng: Generator) -> None:
    px, py, rx, ry = layout.pond
    reach = ((x - px) / rx) ** 2 + ((y - py) / ry) ** 2
    reach = reach + 0.12 * grain(soil.ir.shape, {60.0: 1.0}, rng)
    water = (reach < 1.0) & soil.bare
    shore = (reach < 1.25) & soil.bare & ~water
    for layer, wet, edge in ((soil.ir, 0.07, 0.8), (soil.day, 0.20, 0.8)):
        layer[shore] *= edge
        layer[water] = wet + 0.1 * layer[water]
    soil.cb[water], soil.cr[water] = 4.0, -4.0
    soil.bare[water] = False
