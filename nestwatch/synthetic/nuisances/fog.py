"""Fog in the lamp's light: contrast falls towards a bright haze that drifts, thickest halfway through.

Koschmieder's law: at distance d a thing of level L shows as L e^(-s d) + A (1 - e^(-s d)), where A is the
haze's own level and s the extinction. The range asked for is the meteorological optical range, at which
5 % of the light is left, so s = -ln 0.05 / range (WMO-No. 8, Guide to Instruments, part I, chapter 9).
"""

from __future__ import annotations

from math import log, pi, sin
from typing import ClassVar

import cv2
import numpy as np

from nestwatch.synthetic.layout import Layout
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.light import BLACK
from nestwatch.synthetic.nuisances.base import AIR, Bytes, Light, Nuisance, Plan, Positive, Settings, register
from nestwatch.synthetic.scenario import Span
from nestwatch.synthetic.soil import Map

COARSE = 8
"""Fog is computed this many times coarser than a 640 wide picture."""
FARTHEST_M = 12.0
_TILE = (96, 160)


class FogSettings(Settings):
    """`range_m`: meteorological optical range where thickest. `level`: of the haze in the picture's middle.
    `patchy`: how uneven it is, 0 even. `drift_px_s`: pixels of a 640 wide picture that it drifts a second."""

    range_m: Positive = (5.0, 20.0)
    level: Span = (130.0, 190.0)
    patchy: Span = (0.2, 0.5)
    drift_px_s: Span = (3.0, 15.0)


@register
class Fog(Nuisance):
    """Haze over the whole picture, by the distance to the ground there."""

    kind: ClassVar[str] = "fog"
    Settings: ClassVar[type[Settings]] = FogSettings
    layer: ClassVar[int] = AIR

    def __init__(self, plan: Plan, layout: Layout, lens: Lens, camera: str) -> None:
        super().__init__(plan, layout, lens, camera)
        step = COARSE * lens.width / 640
        size = (max(2, round(lens.height / step)), max(2, round(lens.width / step)))
        self._y, self._x = np.mgrid[: size[0], : size[1]].astype(np.float32)
        middles = np.stack(
            [(self._x + 0.5) * lens.width / size[1], (self._y + 0.5) * lens.height / size[0]], -1
        )
        self.distance = _distance(lens, middles.reshape(-1, 2)).reshape(size)
        self._haze = np.float32(plan.values["level"] - BLACK) * _glow(size)
        self._clouds = [_cloud(self.camera_rng) for _ in range(2)]
        way = self.camera_rng.uniform(0, 2 * pi) + np.array([0.0, 1.1])
        speed = plan.values["drift_px_s"] / COARSE
        self._drift = np.stack([np.cos(way), 0.5 * np.sin(way)], axis=1) * speed * np.array([[1.0], [0.6]])

    def extinction(self, t: float) -> float:
        """Of the air at `t`, per metre: 0 outside the plan's span."""
        share = (t - self.plan.start) / (self.plan.end - self.plan.start)
        thick = sin(pi * share) ** 2 if 0 < share < 1 else 0.0
        return float(thick * -log(0.05) / self.plan.values["range_m"])

    def draw(self, picture: Bytes, t: float, light: Light) -> None:
        extinction = self.extinction(t)
        if extinction <= 0:
            return
        left = np.exp(-np.float32(extinction) * self.distance * self._uneven(t))
        size = picture.shape[::-1]
        haze = np.float32(BLACK) * (1 - left) + self._haze * (1 - left)
        shown = cv2.multiply(picture, cv2.resize(left, size), None, 1.0, cv2.CV_32F)
        cv2.add(shown, cv2.resize(haze, size), picture, None, cv2.CV_8U)

    def fade(self, t: float) -> float:
        return float(np.exp(-self.extinction(t) * np.median(self.distance)))

    def _uneven(self, t: float) -> Map:
        """Factor on the extinction, around 1."""
        total = np.zeros_like(self._x)
        for cloud, (right, down) in zip(self._clouds, self._drift, strict=True):
            columns = np.float32(right * t % _TILE[1]) + self._x
            rows = np.float32(down * t % _TILE[0]) + self._y
            total += cv2.remap(cloud, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_WRAP)
        return np.asarray(np.exp(np.float32(self.plan.values["patchy"] / 2**0.5) * total), np.float32)


def _distance(lens: Lens, pixels: np.ndarray[tuple[int, ...], np.dtype[np.float32]]) -> Map:
    """Metres from the lens to the ground seen at pixels (n, 2), `FARTHEST_M` at most."""
    ground = np.nan_to_num(lens.ground(pixels), nan=1e3)
    flat = np.hypot(*(ground - lens.eye[:2]).T)
    return np.asarray(np.minimum(np.hypot(flat, lens.eye[2]), FARTHEST_M), np.float32)


def _glow(size: tuple[int, int]) -> Map:
    """The haze's level over the picture: brightest in the middle of the lamp's beam."""
    y, x = np.mgrid[-1 : 1 : size[0] * 1j, -1 : 1 : size[1] * 1j]
    return np.asarray(1 - 0.2 * (x * x + y * y), np.float32)


def _cloud(rng: np.random.Generator) -> Map:
    """Smooth noise of deviation 1 that joins itself at its edges."""
    field = np.tile(rng.standard_normal(_TILE, dtype=np.float32), (3, 3))
    smooth = cv2.GaussianBlur(field, (0, 0), 5) + cv2.GaussianBlur(field, (0, 0), 12) * 2
    middle = smooth[_TILE[0] : 2 * _TILE[0], _TILE[1] : 2 * _TILE[1]]
    return np.asarray((middle - middle.mean()) / middle.std(), np.float32)
