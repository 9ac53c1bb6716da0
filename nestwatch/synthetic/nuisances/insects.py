"""Moths and other insects: bright blobs and streaks near the lens, here and gone within a second or two."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from typing import ClassVar

import cv2
import numpy as np

from nestwatch.synthetic.layout import Layout
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.nuisances.base import Bytes, Light, Nuisance, Plan, Settings, register
from nestwatch.synthetic.scenario import Span

LONGEST_S = 3.0
EXPOSURE_S = 0.035


class InsectSettings(Settings):
    """`per_minute`: flights through the picture. `size_px`: width of the blob in a 640 wide picture."""

    per_minute: Span = (4.0, 30.0)
    size_px: Span = (4.0, 6.0)


@register
class Insects(Nuisance):
    """Each flight is a curved path; a frame shows the stretch flown during its exposure."""

    kind: ClassVar[str] = "insects"
    Settings: ClassVar[type[Settings]] = InsectSettings
    lit_by_camera: ClassVar[bool] = True

    def __init__(self, plan: Plan, layout: Layout, lens: Lens, camera: str) -> None:
        super().__init__(plan, layout, lens, camera)
        rng = self.camera_rng
        count = int(rng.poisson(plan.values["per_minute"] * (plan.end - plan.start) / 60))
        self._starts = np.sort(rng.uniform(plan.start, plan.end, count)).tolist()
        self._lasting = rng.uniform(0.3, LONGEST_S, count)
        self._from = rng.uniform(-0.05, 1.05, (count, 2)) * (lens.width, lens.height)
        speed = np.exp(rng.uniform(np.log(40), np.log(900), count)) * lens.width / 640
        turn = rng.uniform(0, 2 * np.pi, count)
        self._speed = np.stack([np.cos(turn), np.sin(turn)], axis=1) * speed[:, None]
        self._bend = rng.normal(0, 2.0, count)
        self._size = plan.values["size_px"] * np.exp(rng.normal(0, 0.5, count)) * lens.width / 640
        self._level = rng.uniform(40, 190, count)

    def draw(self, picture: Bytes, t: float, light: Light) -> None:
        first, last = bisect_left(self._starts, t - LONGEST_S), bisect_right(self._starts, t)
        for k in range(first, last):
            if t < self._starts[k] + self._lasting[k]:
                self._streak(picture, k, t)

    def _place(self, k: int, t: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        """Where insect `k` is: a path that turns at an even rate."""
        since = t - self._starts[k]
        turn = self._bend[k] * since
        half = np.array([[np.cos(turn / 2), -np.sin(turn / 2)], [np.sin(turn / 2), np.cos(turn / 2)]])
        return np.asarray(self._from[k] + half @ self._speed[k] * since, np.float64)

    def _streak(self, picture: Bytes, k: int, t: float) -> None:
        ends = np.stack([self._place(k, t), self._place(k, t + EXPOSURE_S)])
        room = 2 * self._size[k] + 2
        low = np.maximum(np.floor(ends.min(axis=0) - room), 0).astype(int)
        high = np.minimum(np.ceil(ends.max(axis=0) + room), (self.lens.width, self.lens.height)).astype(int)
        if np.any(high - low < 2):
            return
        glow = np.zeros((high[1] - low[1], high[0] - low[0]), np.uint8)
        # A streak spreads the same light over more pixels.
        spread = 1 + np.hypot(*(ends[1] - ends[0])) / max(2 * self._size[k], 1)
        level = float(np.clip(2.0 * self._level[k] / spread**0.5, 10, 255))
        line = np.round((ends - low) * 16).astype(np.int32)
        cv2.polylines(glow, [line], False, level, max(1, round(self._size[k])), cv2.LINE_AA, 4)
        glow = np.asarray(cv2.GaussianBlur(glow, (0, 0), max(0.35 * self._size[k], 0.6)), np.uint8)
        part = picture[low[1] : high[1], low[0] : high[0]]
        part[...] = np.asarray(cv2.add(part, glow), np.uint8)
