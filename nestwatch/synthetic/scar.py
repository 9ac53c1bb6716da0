"""How digging changes the ground: soil thrown out, an open hole, and what is left after covering."""

from __future__ import annotations

import numpy as np

from nestwatch.synthetic.soil import MEAN_SOIL, Map, Soil, grain
from nestwatch.synthetic.story import Event

STEP_S = 20.0
"""The ground is redrawn this often while it changes."""


class Scar:
    """The patch of one event on the soil maps. `box`: (x0, y0, x1, y1) metres on the plan."""

    def __init__(self, soil: Soil, event: Event, shell_m: float) -> None:
        self.soil, self.event = soil, event
        self._stages = {stage.stage: stage for stage in event.stages}
        rng = np.random.default_rng(event.seed)
        reach = 1.3 * shell_m
        column, row = soil.cells(*np.float32(event.rear).reshape(2, 1))  # type: ignore[arg-type]
        half = round(reach / soil.cell)
        top, left = max(round(float(row[0])) - half, 0), max(round(float(column[0])) - half, 0)
        self._part = np.s_[top : top + 2 * half + 1, left : left + 2 * half + 1]
        x, y = event.rear
        self.box = (x - reach, y - reach, x + reach, y + reach)
        self._before = {name: getattr(soil, name)[self._part].copy() for name in ("ir", "day")}
        self._draw(shell_m, top, left, rng)
        self._last = (-1.0, -1.0)

    def _draw(self, shell_m: float, top: int, left: int, rng: np.random.Generator) -> None:
        """Fields over the patch: in which order cells are reached, the fresh soil, the hole."""
        shape = self._before["ir"].shape
        rows, columns = np.mgrid[0 : shape[0], 0 : shape[1]]
        x = (columns + left + 0.5) * self.soil.cell + self.soil.corner[0] - self.event.rear[0]
        y = (rows + top + 0.5) * self.soil.cell + self.soil.corner[1] - self.event.rear[1]
        c, s = np.cos(self.event.heading), np.sin(self.event.heading)
        ahead, aside = (x * c + y * s) / shell_m, (-x * s + y * c) / shell_m
        distance = np.hypot((ahead + 0.12) / 0.5, aside / 0.62)
        unit = 0.005 / self.soil.cell
        rough = grain(shape, {6.0 * unit: 1.0, 2.0 * unit: 0.5}, rng)
        # Never below 0: nothing may change before the first stroke.
        self._order = np.maximum(distance + 0.35 * rough, 0).astype(np.float32)
        tone = MEAN_SOIL * float(rng.choice([rng.uniform(0.72, 0.9), rng.uniform(1.1, 1.3)]))
        clods = {3.0 * unit: 1.0, 7.0 * unit: 0.8}
        self._fresh = (tone * (1 + 0.2 * grain(shape, clods, rng))).astype(np.float32)
        smooth = {10.0 * unit: 1.0, 4.0 * unit: 0.5}
        self._packed = (tone * (1 + 0.1 * grain(shape, smooth, rng))).astype(np.float32)
        self._hole = np.exp(-((np.hypot(ahead + 0.06, aside) / 0.17) ** 2)).astype(np.float32)

    def progress(self, t: float) -> tuple[float, float]:
        """Shares 0..1 of the digging and of the covering that are done, in steps of `STEP_S`."""
        t = STEP_S * np.floor(t / STEP_S)
        done = [0.0, 0.0]
        for k, name in enumerate(("dig", "cover")):
            if name in self._stages:
                stage = self._stages[name]
                done[k] = float(np.clip((t - stage.start) / (stage.end - stage.start), 0, 1))
        return done[0], done[1]

    def update(self, t: float) -> bool:
        """Puts the soil maps into the state at `t`; True if anything changed."""
        now = self.progress(t)
        if now == self._last:
            return False
        self._last = now
        for name, before in self._before.items():
            getattr(self.soil, name)[self._part] = before * self._ratio(*now)
        return True

    def _ratio(self, dug: float, covered: float) -> Map:
        """Reflectance now over reflectance before."""
        before = self._before["ir"]
        strength = self.event.residual if self.event.kind == "trial" else self.event.throw
        spread = np.clip((1.25 * dug - self._order) / 0.25, 0, 1) * strength
        open_now = (before * (1 - spread) + self._fresh * spread) * (1 - 0.65 * dug * strength * self._hole)
        if covered == 0:
            return np.asarray(open_now / before, np.float32)
        left = np.clip((1.25 - self._order) / 0.4, 0, 1) * self.event.residual
        closed = before * (1 - left) + self._packed * left
        share = np.clip((1.6 * covered - (1.25 - self._order)) / 0.35, 0, 1)
        share = np.maximum(share, np.clip((covered - 0.9) / 0.1, 0, 1))
        return np.asarray((open_now * (1 - share) + closed * share) / before, np.float32)
