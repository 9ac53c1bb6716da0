"""A camera's still picture of the pen: reflectance as its lens shows it, before any light falls on it."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.synthetic.layout import Layout, Plant
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.soil import Map, Soil, grain

Rect = tuple[int, int, int, int]
"""Left, top, right, bottom in whole pixels; right and bottom excluded."""

Generator = np.random.Generator
FINE = 2
"""The ground is sampled this many times finer than the picture, then averaged."""


class Scene:
    """Reflectance maps of one camera: `ir`, `day` float32 (rows, columns), `cb`, `cr` at half size.

    `bare` (rows, columns), 0..1: share of the pixel that is bare soil, which rain and digging change.
    """

    def __init__(self, lens: Lens, layout: Layout, soil: Soil, rng: Generator) -> None:
        self.lens, self.soil = lens, soil
        shape = (lens.height, lens.width)
        self._columns, self._rows = self._where(lens, soil)
        self.cover = np.zeros(shape, np.float32)
        self._over = {name: np.zeros(shape, np.float32) for name in ("ir", "day", "cb", "cr")}
        self._walls(layout, rng)
        self._tufts(layout, rng)
        self.ir, self.day = np.empty(shape, np.float32), np.empty(shape, np.float32)
        self.refresh((0, 0, lens.width, lens.height))
        half = (lens.width // 2, lens.height // 2)
        self.cb, self.cr = (
            cv2.resize(self._seen(name, (0, 0, *shape[::-1])), half, interpolation=cv2.INTER_AREA)
            for name in ("cb", "cr")
        )
        seen = self._sample(soil.bare.astype(np.float32), (0, 0, *shape[::-1]))
        self.bare = np.asarray(seen * (1 - self.cover), np.float32)

    def refresh(self, rect: Rect) -> None:
        """Looks at the soil again inside `rect` after it has been changed there."""
        x0, y0, x1, y1 = rect
        self.ir[y0:y1, x0:x1] = self._seen("ir", rect)
        self.day[y0:y1, x0:x1] = self._seen("day", rect)

    def rect_of(self, plan_box: tuple[float, float, float, float]) -> Rect:
        """The pixels that a box on the plan (x0, y0, x1, y1 metres) touches, inside the picture."""
        x0, y0, x1, y1 = plan_box
        seen = self.lens.project([(x0, y0, 0), (x1, y0, 0), (x1, y1, 0), (x0, y1, 0)])
        low, high = np.floor(seen.min(axis=0)) - 2, np.ceil(seen.max(axis=0)) + 2
        low, high = np.maximum(low, 0), np.minimum(high, (self.lens.width, self.lens.height))
        return int(low[0]), int(low[1]), max(int(high[0]), int(low[0])), max(int(high[1]), int(low[1]))

    @staticmethod
    def _where(lens: Lens, soil: Soil) -> tuple[Map, Map]:
        """Column and row of the soil maps for every fine pixel."""
        x, y = np.meshgrid(
            (np.arange(FINE * lens.width) + 0.5) / FINE, (np.arange(FINE * lens.height) + 0.5) / FINE
        )
        plan = np.nan_to_num(lens.ground(np.stack([x.ravel(), y.ravel()], axis=1)), nan=1e4)
        columns, rows = soil.cells(plan[:, 0].astype(np.float32), plan[:, 1].astype(np.float32))
        return columns.reshape(x.shape), rows.reshape(x.shape)

    def _sample(self, layer: Map, rect: Rect) -> Map:
        x0, y0, x1, y1 = rect
        part = np.s_[FINE * y0 : FINE * y1, FINE * x0 : FINE * x1]
        fine = cv2.remap(
            layer, self._columns[part], self._rows[part], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT_101
        )
        return np.asarray(cv2.resize(fine, (x1 - x0, y1 - y0), interpolation=cv2.INTER_AREA), np.float32)

    def _seen(self, name: str, rect: Rect) -> Map:
        """The soil layer with walls and tufts over it."""
        x0, y0, x1, y1 = rect
        if x1 <= x0 or y1 <= y0:
            return np.empty((max(y1 - y0, 0), max(x1 - x0, 0)), np.float32)
        share = self.cover[y0:y1, x0:x1]
        ground = self._sample(getattr(self.soil, name), rect)
        return np.asarray(ground * (1 - share) + self._over[name][y0:y1, x0:x1] * share, np.float32)

    def _put(self, mask: NDArray[np.bool_], ir: Map, day: Map, cb: float, cr: float) -> None:
        self.cover[mask] = 1.0
        for name, value in (("ir", ir[mask]), ("day", day[mask]), ("cb", cb), ("cr", cr)):
            self._over[name][mask] = value

    def _walls(self, layout: Layout, rng: Generator) -> None:
        """Plank walls around the pen, upright, the farthest first."""
        x, y = np.meshgrid(np.arange(self.lens.width) + 0.5, np.arange(self.lens.height) + 0.5)
        rays = self.lens.rays(np.stack([x.ravel(), y.ravel()], axis=1)).reshape(*x.shape, 3)
        sides = [(0, 0.0), (0, layout.width), (1, 0.0), (1, layout.depth)]
        spans = (layout.width, layout.depth)
        for axis, at in sorted(sides, key=lambda side: -abs(side[1] - self.lens.eye[side[0]])):
            with np.errstate(divide="ignore", invalid="ignore"):
                far = (at - self.lens.eye[axis]) / rays[..., axis]
            along = self.lens.eye[1 - axis] + far * rays[..., 1 - axis]
            height = self.lens.eye[2] + far * rays[..., 2]
            with np.errstate(invalid="ignore"):
                mask = (
                    (far > 0)
                    & (along > 0)
                    & (along < spans[1 - axis])
                    & (height > 0)
                    & (height < layout.wall_m)
                )
            self._put(mask, *_planks(along, height, mask, rng), -6.0, 5.0)

    def _tufts(self, layout: Layout, rng: Generator) -> None:
        for tuft in layout.tufts:
            mask = np.zeros(self.cover.shape, np.uint8)
            lines = [line.reshape(-1, 1, 2) for line in blades(self.lens, tuft, np.zeros(tuft.blades))]
            cv2.polylines(mask, lines, False, 255, 1, cv2.LINE_AA, 4)
            tone = np.full(mask.shape, rng.uniform(0.55, 0.8), np.float32)
            self._put(mask > 110, tone, 0.5 * tone, -12.0, -8.0)


def _planks(along: Map, height: Map, mask: NDArray[np.bool_], rng: Generator) -> tuple[Map, Map]:
    """Boards lying on each other, each of its own tone, with a dark joint."""
    board = 0.11
    tones = rng.uniform(0.3, 0.5, 64).astype(np.float32)
    length = np.nan_to_num(along, nan=0.0, posinf=0.0, neginf=0.0)
    which = np.nan_to_num(height / board, nan=0.0, posinf=0.0, neginf=0.0)
    index = (which.astype(int) * 7 + (length / 1.6).astype(int) * 3) % 64
    joint = np.where((which % 1.0) < 0.08, 0.5, 1.0)
    wood = tones[index] * joint * (1 + 0.06 * grain(mask.shape, {2.0: 1.0, 6.0: 0.7}, rng))
    return wood.astype(np.float32), (0.8 * wood).astype(np.float32)


def blades(lens: Lens, plant: Plant, bend: NDArray[np.float64]) -> list[NDArray[np.int32]]:
    """The blades as lines of 4 points in 1/16 pixel (OpenCV's shift 4); `bend` (n,) metres at the tip."""
    rng = np.random.default_rng(plant.seed)
    foot = rng.normal(0, 0.12 * plant.spread_m, (plant.blades, 2))
    lean = rng.normal(0, plant.spread_m, (plant.blades, 2))
    tall = plant.height_m * rng.uniform(0.6, 1.0, plant.blades)
    up = np.array([0.0, 0.4, 0.75, 1.0])
    spots = np.empty((plant.blades, 4, 3))
    spots[..., :2] = np.array(plant.at) + foot[:, None] + lean[:, None] * (up**2)[:, None]
    spots[..., 0] += bend[:, None] * up**2
    spots[..., 2] = tall[:, None] * up
    seen = lens.project(spots.reshape(-1, 3)).reshape(plant.blades, 4, 2)
    return list(np.round((seen - 0.5) * 16).astype(np.int32))
