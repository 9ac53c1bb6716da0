"""Water on the lens: big drops that smear what lies behind them, some of which run down."""

from __future__ import annotations

from typing import ClassVar, NamedTuple

import cv2
import numpy as np

from nestwatch.synthetic.layout import Layout
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.nuisances.base import (
    GLASS,
    Bytes,
    CameraSettings,
    Light,
    Nuisance,
    Plan,
    Positive,
    Settings,
    Share,
    register,
)
from nestwatch.synthetic.scenario import Span
from nestwatch.synthetic.soil import Map

COARSE = 4
"""What is smeared is computed this many times coarser than a 640 wide picture."""


def coarse_size(lens: Lens) -> tuple[int, int]:
    """Rows and columns of the coarse picture."""
    return round(lens.height * 640 / lens.width / COARSE), 640 // COARSE


def smear(picture: Bytes, share: Map, *, blur_px: float, rise: float) -> None:
    """Replaces a `share` (coarse rows, columns; 0..1) of the picture by a blurred one.

    `blur_px`: the blur's deviation in a 640 wide picture. `rise`: levels by which it is brighter.
    """
    size = (share.shape[1], share.shape[0])
    small = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
    soft = cv2.convertScaleAbs(cv2.GaussianBlur(small, (0, 0), blur_px / COARSE), None, 1.0, rise)
    full = (picture.shape[1], picture.shape[0])
    weight = cv2.resize(share, full)
    cv2.blendLinear(cv2.resize(soft, full), picture, weight, np.float32(1) - weight, picture)


class WetSettings(CameraSettings):
    """`drops`: on the glass at most. `size_px`: half a drop's width in a 640 wide picture. `runs`: share of
    them that run down. `rise`: levels by which a drop is brighter."""

    drops: Span = (4.0, 10.0)
    size_px: Positive = (18.0, 50.0)
    runs: Share = (0.0, 0.5)
    rise: Span = (5.0, 25.0)


class Drop(NamedTuple):
    """Middle (x, y), half its width and height in coarse pixels; when it is there; pixels a second down."""

    x: float
    y: float
    wide: float
    tall: float
    start: float
    end: float
    speed: float


@register
class WetLens(Nuisance):
    """Drops gather in the first third of the span and dry in the last."""

    kind: ClassVar[str] = "wet_lens"
    Settings: ClassVar[type[Settings]] = WetSettings
    layer: ClassVar[int] = GLASS

    def __init__(self, plan: Plan, layout: Layout, lens: Lens, camera: str) -> None:
        super().__init__(plan, layout, lens, camera)
        rows, columns = coarse_size(lens)
        self._y, self._x = np.mgrid[:rows, :columns].astype(np.float32)
        self._drops = [self._drop(rows, columns) for _ in range(max(1, round(plan.values["drops"])))]
        self._last: tuple[int, Map] | None = None

    def _drop(self, rows: int, columns: int) -> Drop:
        rng, plan = self.camera_rng, self.plan
        span = plan.end - plan.start
        wide = plan.values["size_px"] / COARSE * float(rng.uniform(0.5, 1.2))
        runs = rng.random() < plan.values["runs"]
        return Drop(
            float(rng.uniform(0, columns)),
            float(rng.uniform(0, rows)),
            wide,
            wide * float(rng.uniform(0.9, 1.5)),
            plan.start + span * float(rng.uniform(0, 0.3)),
            plan.end - span * float(rng.uniform(0, 0.3)),
            float(rng.uniform(0.02, 0.4)) if runs else 0.0,
        )

    def draw(self, picture: Bytes, t: float, light: Light) -> None:
        if not self.plan.start <= t < self.plan.end:
            return
        second = int(t)
        if self._last is None or self._last[0] != second:
            self._last = (second, self._share(second))
        values = self.plan.values
        smear(picture, self._last[1], blur_px=values["size_px"] / 4, rise=values["rise"])

    def _share(self, t: float) -> Map:
        """How much of each coarse pixel is seen through a drop, 0..1."""
        share = np.zeros_like(self._x)
        for drop in self._drops:
            if drop.start <= t < drop.end:
                y = drop.y + drop.speed * (t - drop.start)
                off = np.hypot((self._x - drop.x) / drop.wide, (self._y - y) / drop.tall)
                np.maximum(share, np.clip(4 - 4 * off, 0, 0.95), out=share)
        return np.asarray(share, np.float32)
