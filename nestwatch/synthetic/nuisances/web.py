"""A spider and its web before the lens: bright, out of focus, still for minutes and then at work.

The hardest mimic of a digging animal: a blob the size of an animal that stays for hours and moves to and fro.
"""

from __future__ import annotations

from math import cos, pi, sin
from typing import ClassVar, NamedTuple

import cv2
import numpy as np

from nestwatch.synthetic.figure import Floats
from nestwatch.synthetic.layout import Layout
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.nuisances.base import (
    BEFORE_LENS,
    Bytes,
    CameraSettings,
    Light,
    Nuisance,
    Plan,
    Positive,
    Settings,
    register,
)
from nestwatch.synthetic.scenario import Span

_SHIFT = 4


class WebSettings(CameraSettings):
    """`strands`: seen of the web. `size_px`: length of the spider's body in a 640 wide picture; 0: no spider.
    `blur_px`: how far out of focus (deviation). `level`: added where brightest. `sway_px`: in a gust.
    `strokes`: to and fro a minute while it works. `work_s`, `sit_s`: mean length of a bout and of a rest."""

    strands: Span = (4.0, 9.0)
    size_px: Span = (20.0, 55.0)
    blur_px: Positive = (2.0, 5.0)
    level: Span = (60.0, 150.0)
    sway_px: Span = (1.0, 6.0)
    strokes: Positive = (5.0, 30.0)
    work_s: Positive = (40.0, 240.0)
    sit_s: Positive = (60.0, 500.0)


class Bout(NamedTuple):
    """From `start` until the next one, seconds since the night's start; it goes from `old` to `new` (x, y)
    pixels off the web's hub, and works to and fro by `swing` pixels, 0 while it sits."""

    start: float
    old: Floats
    new: Floats
    swing: float


@register
class Web(Nuisance):
    """Strands that meet in a hub, fixed outside the picture, and the spider near the hub."""

    kind: ClassVar[str] = "web"
    Settings: ClassVar[type[Settings]] = WebSettings
    layer: ClassVar[int] = BEFORE_LENS
    lit_by_camera: ClassVar[bool] = True

    def __init__(self, plan: Plan, layout: Layout, lens: Lens, camera: str) -> None:
        super().__init__(plan, layout, lens, camera)
        self._unit = lens.width / 640
        self._thick = max(1, round(self._unit))
        rng, size = self.camera_rng, np.array([lens.width, lens.height])
        self.hub = rng.uniform(0.25, 0.75, 2) * size
        count = max(1, round(plan.values["strands"]))
        turns = np.linspace(0, 2 * pi, count, endpoint=False) + rng.uniform(-0.25, 0.25, count)
        self._ends = self.hub + np.stack([np.cos(turns), np.sin(turns)], axis=1) * 1.3 * lens.width
        self._phases = rng.uniform(0, 2 * pi, count)
        self._bright = rng.uniform(0.2, 0.6, count)
        self._bouts = _bouts(plan, rng, plan.values["size_px"] * self._unit)
        self._starts = np.array([bout.start for bout in self._bouts])

    def draw(self, picture: Bytes, t: float, light: Light) -> None:
        if not self.plan.start <= t < self.plan.end:
            return
        # Half the picture's size is enough for what is out of focus.
        sheet = np.zeros((picture.shape[0] // 2, picture.shape[1] // 2), np.uint8)
        self._strands(sheet, t)
        if self.plan.values["size_px"] > 0:
            self._spider(sheet, t)
        blur = self.plan.values["blur_px"] * self._unit / 2
        glow = cv2.GaussianBlur(sheet.astype(np.float32), (0, 0), max(blur, 0.5))
        scale = self.plan.values["level"] / 160
        cv2.add(
            picture,
            cv2.resize(np.asarray(scale * glow, np.float32), picture.shape[::-1]),
            picture,
            None,
            cv2.CV_8U,
        )

    def _sway(self, t: float, phase: float) -> Floats:
        """How far a gust moves the hub (0) or a strand (its phase) at `t`, pixels."""
        gust = 0.4 + 0.35 * sin(2 * pi * t / 37.0) + 0.25 * sin(2 * pi * t / 11.3 + 1.0)
        far = self.plan.values["sway_px"] * self._unit * gust
        return np.asarray(
            far * np.array([sin(2 * pi * 0.45 * t + phase), 0.4 * sin(2 * pi * 0.62 * t + phase)])
        )

    def _strands(self, sheet: Bytes, t: float) -> None:
        along = np.linspace(0, 1, 9)[:, None]
        hub = self.hub + self._sway(t, 0.0)
        for end, phase, bright in zip(self._ends, self._phases, self._bright, strict=True):
            line = hub + (end - hub) * along + np.sin(pi * along) * self._sway(t, phase)
            cv2.polylines(sheet, [_fixed(line)], False, 255 * bright, self._thick, cv2.LINE_AA, _SHIFT)
        for far in (0.05, 0.09, 0.14):
            ring = hub + (self._ends - hub) * far
            cv2.polylines(sheet, [_fixed(ring)], True, 50, self._thick, cv2.LINE_AA, _SHIFT)

    def place(self, t: float) -> tuple[Floats, float]:
        """The middle of the spider (x, y) in pixels and how far through a stroke it is, -1..1; 0 at rest."""
        k = int(np.clip(np.searchsorted(self._starts, t, "right") - 1, 0, len(self._bouts) - 2))
        bout = self._bouts[k]
        share = (t - bout.start) / (self._bouts[k + 1].start - bout.start)
        stroke = sin(2 * pi * self.plan.values["strokes"] / 60 * (t - bout.start)) if bout.swing else 0.0
        way = np.array([0.8, 0.6]) * bout.swing * stroke
        return self.hub + self._sway(t, 0.0) + bout.old + share * (bout.new - bout.old) + way, stroke

    def _spider(self, sheet: Bytes, t: float) -> None:
        middle, stroke = self.place(t)
        size = self.plan.values["size_px"] * self._unit
        for side in (-1, 1):
            for k, turn in enumerate((0.5, 1.1, 1.9, 2.6)):
                bend = turn + 0.2 * stroke * (-1) ** k
                knee = middle + size * 0.55 * np.array([cos(bend), side * sin(bend)])
                foot = middle + size * 0.95 * np.array([cos(bend), side * sin(bend) * 0.9])
                leg = _fixed(np.stack([middle, knee, foot]))
                cv2.polylines(sheet, [leg], False, 150, max(1, round(size / 24)), cv2.LINE_AA, _SHIFT)
        for off, length, width in ((-0.22, 0.3, 0.24), (0.22, 0.2, 0.16)):
            at = _fixed(middle + np.array([off * size, 0.0]))
            axes = _fixed(np.array([length, width]) * size + 1.0)
            cv2.ellipse(sheet, at.tolist(), axes.tolist(), 0, 0, 360, 255, -1, cv2.LINE_AA, _SHIFT)


def _fixed(pixels: Floats) -> np.ndarray[tuple[int, ...], np.dtype[np.int32]]:
    """Pixels of the picture as OpenCV's fixed point on a sheet of half its size."""
    return np.round((pixels / 2 - 0.5) * (1 << _SHIFT)).astype(np.int32)


def _bouts(plan: Plan, rng: np.random.Generator, size: float) -> list[Bout]:
    """Sits and works by turns from the plan's start to past its end; its places lie about one size apart."""
    bouts, t, place, works = [], plan.start, np.zeros(2), False
    while t <= plan.end:
        mean = plan.values["work_s" if works else "sit_s"]
        new = rng.normal(0, 0.5 * size, 2) if works else place
        bouts.append(Bout(t, place, new, size * float(rng.uniform(0.08, 0.3)) if works else 0.0))
        t += mean * float(rng.uniform(0.3, 1.7)) + 1.0
        place, works = new, not works
    return [*bouts, Bout(t, place, place, 0.0)]
