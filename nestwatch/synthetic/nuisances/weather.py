"""Wind in the plants, and rain: streaks, drops on the glass, soil that darkens and dries."""

from __future__ import annotations

from math import exp, sin
from typing import ClassVar

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.synthetic.layout import Layout
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.nuisances.base import Bytes, Light, Nuisance, Plan, Settings, register
from nestwatch.synthetic.scenario import Span


class WindSettings(Settings):
    """`strength`: 1 bends a tip by about a third of the plant's height. `gust_s`: seconds between gusts."""

    strength: Span = (0.3, 1.0)
    gust_s: Span = (20.0, 70.0)


@register
class Wind(Nuisance):
    """Plants sway in gusts."""

    kind: ClassVar[str] = "wind"
    Settings: ClassVar[type[Settings]] = WindSettings

    def wind(self, t: float) -> float:
        gust = 0.5 + 0.3 * sin(6.283 * t / self.plan.values["gust_s"]) + 0.2 * sin(6.283 * t / 7.3)
        return float(self.plan.values["strength"] * self.plan.over(t) * gust)


class RainSettings(Settings):
    """`streaks`: drops seen in a frame at full strength. `darkening`: of bare soil when soaked, 0..1.
    `soak_min`, `dry_min`: minutes to soak and to dry (time constants). `drops`: on the glass at the end."""

    streaks: Span = (20.0, 90.0)
    darkening: Span = (0.4, 1.0)
    soak_min: Span = (4.0, 12.0)
    dry_min: Span = (60.0, 200.0)
    drops: Span = (0.0, 6.0)


@register
class Rain(Nuisance):
    """Bright streaks near the lamp, wet soil, drops on the glass that come and go."""

    kind: ClassVar[str] = "rain"
    Settings: ClassVar[type[Settings]] = RainSettings
    lit_by_camera: ClassVar[bool] = True

    def __init__(self, plan: Plan, layout: Layout, lens: Lens, camera: str) -> None:
        super().__init__(plan, layout, lens, camera)
        self._sheets = [self._sheet() for _ in range(24)]
        count = round(plan.values["drops"])
        place = self.camera_rng.uniform(0, 1, (count, 2)) * (lens.width, lens.height)
        begin = self.camera_rng.uniform(plan.start, plan.end, count)
        last = begin + self.camera_rng.uniform(300, 2400, count)
        size = self.camera_rng.uniform(0.012, 0.03, count) * lens.width
        self._drops = list(zip(place[:, 0], place[:, 1], begin, last, size, strict=True))

    def _sheet(self) -> Bytes:
        """One frame's streaks, to be added to the picture."""
        rng, lens = self.camera_rng, self.lens
        sheet = np.zeros((lens.height, lens.width), np.uint8)
        unit = lens.width / 640
        slant = rng.normal(0.12, 0.04)
        for _ in range(rng.poisson(self.plan.values["streaks"])):
            x, y = rng.uniform(0, lens.width), rng.uniform(-20, lens.height)
            far = rng.uniform(6, 40) * unit
            ends = np.round(np.array([[x, y], [x + slant * far, y + far]]) * 16).astype(np.int32)
            level = int(rng.uniform(8, 45))
            cv2.polylines(
                sheet, [ends], False, level, max(1, round(rng.uniform(0.6, 2.2) * unit)), cv2.LINE_AA, 4
            )
        return np.asarray(cv2.GaussianBlur(sheet, (0, 0), 0.8 * unit), np.uint8)

    def wet(self, t: float) -> float:
        plan, values = self.plan, self.plan.values
        if t <= plan.start:
            return 0.0
        soaked = values["darkening"] * (1 - exp(-(min(t, plan.end) - plan.start) / (60 * values["soak_min"])))
        return float(soaked * exp(-max(t - plan.end, 0.0) / (60 * values["dry_min"])))

    def draw(self, picture: Bytes, t: float, light: Light) -> None:
        if self.plan.over(t) > 0.3:
            cv2.add(picture, self._sheets[round(t * 1000) * 7919 % len(self._sheets)], picture)
        for x, y, begin, last, size in self._drops:
            if begin < t < last:
                _blur_disc(picture, float(x), float(y), float(size))


def _blur_disc(picture: Bytes, x: float, y: float, size: float) -> None:
    """A drop on the glass: what lies behind it is smeared and a little brighter."""
    rows, columns = picture.shape
    x0, x1 = max(int(x - size), 0), min(int(x + size) + 1, columns)
    y0, y1 = max(int(y - size), 0), min(int(y + size) + 1, rows)
    if x1 - x0 < 3 or y1 - y0 < 3:
        return
    part = picture[y0:y1, x0:x1]
    yy, xx = np.mgrid[y0:y1, x0:x1]
    share: NDArray[np.float32] = np.clip(2 - 2 * np.hypot(xx - x, yy - y) / size, 0, 1).astype(np.float32)
    smeared = cv2.GaussianBlur(part, (0, 0), max(size / 3, 1.0)).astype(np.float32) + 12
    part[...] = np.clip(part * (1 - share) + smeared * share, 0, 255).astype(np.uint8)
