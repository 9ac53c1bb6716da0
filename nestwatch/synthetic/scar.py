"""How digging changes the ground: soil thrown out, an open hole, and what is left after covering."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from nestwatch.synthetic.cast import Actor, Event
from nestwatch.synthetic.soil import MEAN_SOIL, Map, Soil, grain

Part = tuple[slice, slice]
LAYERS = ("ir", "day")
STEP_S = 20.0
"""The ground is redrawn this often while it changes."""


Box = tuple[float, float, float, float]
"""x0, y0, x1, y1: metres on the plan."""
RAIDER_SHELLS = 0.5
"""A raider's hole is as large as that of a turtle with a shell half as long as the raider's body."""


class Scars:
    """Everything the animals dug, on the soil maps. Where patches overlap their changes multiply."""

    def __init__(self, soil: Soil, actors: Sequence[Actor]) -> None:
        self._soil = soil
        self._scars = [
            Scar(soil, event, actor.shell_m * (RAIDER_SHELLS if event.kind == "raid" else 1))
            for actor in actors
            for event in (*actor.earlier, *actor.events)
            if event.dug or event.kind == "raid"
        ]
        self._before = {name: getattr(soil, name).copy() for name in LAYERS} if self._scars else {}

    def update(self, t: float) -> list[Box]:
        """Puts the soil maps into the state at `t`; gives the places that have changed."""
        changed = [scar for scar in self._scars if scar.update(t)]
        for scar in changed:
            self._redraw(scar)
        return [scar.box for scar in changed]

    def _redraw(self, scar: Scar) -> None:
        """The patch of one scar, with all that others did to it."""
        patch = np.ones(scar.ratio.shape, np.float32)
        for other in self._scars:
            _multiply(patch, scar.part, other.ratio, other.part)
        for name in LAYERS:
            getattr(self._soil, name)[scar.part] = self._before[name][scar.part] * patch


def _multiply(patch: Map, at: Part, ratio: Map, there: Part) -> None:
    """Multiplies into `patch`, which lies `at` on the maps, the part of `ratio` (`there`) that lies on it."""
    (rows, columns), (rows2, columns2) = at, there
    top, bottom = max(rows.start, rows2.start), min(rows.stop, rows2.stop)
    left, right = max(columns.start, columns2.start), min(columns.stop, columns2.stop)
    if top >= bottom or left >= right:
        return
    mine = np.s_[top - rows.start : bottom - rows.start, left - columns.start : right - columns.start]
    theirs = np.s_[top - rows2.start : bottom - rows2.start, left - columns2.start : right - columns2.start]
    patch[mine] *= ratio[theirs]


class Scar:
    """The patch of one event: `part` of the soil maps and on it `ratio`, reflectance now over before."""

    def __init__(self, soil: Soil, event: Event, shell_m: float) -> None:
        self.soil, self.event = soil, event
        self._stages = {stage.stage: stage for stage in event.stages}
        rng = np.random.default_rng(event.seed)
        reach = 1.3 * shell_m
        column, row = soil.cells(*np.float32(event.rear).reshape(2, 1))  # type: ignore[arg-type]
        half = round(reach / soil.cell)
        top, left = max(round(float(row[0])) - half, 0), max(round(float(column[0])) - half, 0)
        bottom, right = (min(a + 2 * half + 1, b) for a, b in zip((top, left), soil.ir.shape, strict=True))
        self.part: Part = (slice(top, bottom), slice(left, right))
        x, y = event.rear
        self.box: Box = (x - reach, y - reach, x + reach, y + reach)
        self._before = soil.ir[self.part].copy()
        self.ratio: Map = np.ones(self._before.shape, np.float32)
        self._draw(shell_m, top, left, rng)
        self._last = (-1.0, -1.0)

    def _draw(self, shell_m: float, top: int, left: int, rng: np.random.Generator) -> None:
        """Fields over the patch: in which order cells are reached, the fresh soil, the hole."""
        shape = self._before.shape
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
        """Brings `ratio` to the state at `t`; True if anything changed."""
        now = self.progress(t)
        if now == self._last:
            return False
        self._last = now
        self.ratio = self._ratio(*now)
        return True

    def _ratio(self, dug: float, covered: float) -> Map:
        """Reflectance now over reflectance before."""
        before = self._before
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
