"""Hard shadows of things outside the picture, which creep over the ground as the light goes on its way."""

from __future__ import annotations

from math import cos, pi, radians, sin, tan
from typing import ClassVar, Literal, NamedTuple

import cv2
import numpy as np

from nestwatch.synthetic.figure import Floats
from nestwatch.synthetic.layout import Layout
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.nuisances.base import Bytes, Nuisance, Plan, Settings, Share, register
from nestwatch.synthetic.scenario import Span
from nestwatch.synthetic.soil import Map

CELL_M = 0.01
ROOM_M = 2.0
STEP_S = 4.0
LOWEST_DEG = 3.0
_SHIFT = 4


class ShadowSettings(Settings):
    """`strength`: share of the light that the shadow takes. `thrown_by`: `sun` shows in daylight only, `moon`
    (or any lamp far off) under infrared only. `posts`, `leaves`: how many throw one. `height_deg`: of the
    light above the horizon at first, from which it falls `fall_deg_h` an hour; it turns `turn_deg_h`."""

    strength: Share = (0.3, 0.7)
    thrown_by: Literal["sun", "moon"] = "sun"
    posts: Span = (0.0, 2.0)
    leaves: Span = (80.0, 200.0)
    height_deg: Span = (14.0, 35.0)
    fall_deg_h: Span = (4.0, 10.0)
    turn_deg_h: Span = (8.0, 15.0)


class Post(NamedTuple):
    """Upright: foot (x, y), height and width in metres."""

    foot: Floats
    height: float
    width: float


class Leaf(NamedTuple):
    """A bunch of leaves: place (x, y, z) and half its size in metres."""

    at: Floats
    size: float


@register
class Shadow(Nuisance):
    """Shadows of posts and of a crown of leaves with gaps in it."""

    kind: ClassVar[str] = "shadow"
    Settings: ClassVar[type[Settings]] = ShadowSettings

    def __init__(self, plan: Plan, layout: Layout, lens: Lens, camera: str) -> None:
        super().__init__(plan, layout, lens, camera)
        self._from = float(self.pen_rng.uniform(0, 2 * pi))
        turn, height = self.light_at((plan.start + plan.end) / 2)
        self._posts = [self._post(turn, height) for _ in range(round(plan.values["posts"]))]
        self._leaves = self._crown(turn, height, round(plan.values["leaves"]))
        self._columns, self._rows = self._cells()
        self._last: tuple[float, Map] | None = None

    def light_at(self, t: float) -> tuple[float, float]:
        """Where the light comes from, radians: counter-clockwise from +x on the plan; above the horizon."""
        hours, values = (t - self.plan.start) / 3600, self.plan.values
        height = max(values["height_deg"] - values["fall_deg_h"] * hours, LOWEST_DEG)
        return self._from - radians(values["turn_deg_h"]) * hours, radians(height)

    def _target(self) -> Floats:
        size = (self.layout.width, self.layout.depth)
        return np.asarray(self.pen_rng.uniform(0.25, 0.75, 2) * size)

    def _post(self, turn: float, height: float) -> Post:
        """One outside the pen whose shadow crosses a place in it."""
        far = float(np.hypot(self.layout.width, self.layout.depth))
        foot = self._target() + far * np.array([cos(turn), sin(turn)])
        return Post(foot, 1.3 * far * tan(height), float(self.pen_rng.uniform(0.05, 0.15)))

    def _crown(self, turn: float, height: float, count: int) -> list[Leaf]:
        """Bunches about one middle, high enough to stand outside the picture."""
        up = float(self.pen_rng.uniform(2.0, 3.5))
        middle = self._target() + up / tan(height) * np.array([cos(turn), sin(turn)])
        places = self.pen_rng.normal(0, 1, (count, 3)) * (0.7, 0.7, 0.35 * tan(height) + 0.1)
        sizes = self.pen_rng.uniform(0.03, 0.09, count)
        return [
            Leaf(np.array([*middle, up]) + at, float(size)) for at, size in zip(places, sizes, strict=True)
        ]

    def _cells(self) -> tuple[Map, Map]:
        """Column and row on the plan's raster for every pixel; far outside it where no ground is seen."""
        lens = self.lens
        x, y = np.meshgrid(np.arange(lens.width) + 0.5, np.arange(lens.height) + 0.5)
        plan = np.nan_to_num(lens.ground(np.stack([x.ravel(), y.ravel()], axis=1)), nan=-1e3)
        cells = ((plan + ROOM_M) / CELL_M - 0.5).astype(np.float32)
        return cells[:, 0].reshape(x.shape), cells[:, 1].reshape(x.shape)

    def _shown(self, t: float) -> bool:
        return self.plan.over(t) > 0

    def epoch(self, t: float) -> float:
        return STEP_S * (1 + t // STEP_S) if self._shown(t) else 0.0

    def shade(self, t: float, *, infrared: bool) -> Map | None:
        if not self._shown(t) or infrared != (self.plan.values["thrown_by"] == "moon"):
            return None
        step = self.epoch(t)
        if self._last is None or self._last[0] != step:
            at = float(np.clip(step - STEP_S / 2, self.plan.start + 1e-3, self.plan.end - 1e-3))
            depth = np.float32(self.plan.values["strength"] * self.plan.over(at) / 255)
            seen = cv2.remap(self.mask(at), self._columns, self._rows, cv2.INTER_LINEAR)
            self._last = (step, np.asarray(1 - depth * seen.astype(np.float32), np.float32))
        return self._last[1]

    def mask(self, t: float) -> Bytes:
        """The pen and `ROOM_M` about it from above, row 0 at the lowest y, `CELL_M` cells: 255 in shadow."""
        columns = round((self.layout.width + 2 * ROOM_M) / CELL_M)
        mask = np.zeros((round((self.layout.depth + 2 * ROOM_M) / CELL_M), columns), np.uint8)
        turn, height = self.light_at(t)
        away = -np.array([cos(turn), sin(turn)]) / tan(height)
        for post in self._posts:
            side = np.array([-sin(turn), cos(turn)]) * post.width / 2
            tip = post.foot + post.height * away
            corners = np.stack([post.foot - side, post.foot + side, tip + side, tip - side])
            cv2.fillConvexPoly(mask, _raster(corners), 255, cv2.LINE_AA, _SHIFT)
        for leaf in self._leaves:
            self._leaf(mask, leaf, away, turn, height)
        return mask

    def _leaf(
        self,
        mask: Bytes,
        leaf: Leaf,
        away: Floats,
        turn: float,
        height: float,
    ) -> None:
        at = _raster(leaf.at[:2] + leaf.at[2] * away)
        if np.abs(at).max() > 2**20:
            return
        # A ball's shadow is as wide as the ball and longer by the light's slant.
        axes = np.round(np.array([leaf.size / sin(height), leaf.size]) / CELL_M * (1 << _SHIFT)).astype(int)
        angle = float(np.degrees(turn))
        cv2.ellipse(mask, at.tolist(), axes.tolist(), angle, 0, 360, 255, -1, cv2.LINE_AA, _SHIFT)


def _raster(places: Floats) -> np.ndarray[tuple[int, ...], np.dtype[np.int32]]:
    """Plan places as OpenCV's fixed point on the raster."""
    return np.round(((places + ROOM_M) / CELL_M - 0.5) * (1 << _SHIFT)).astype(np.int32)
