"""A torch or a lamp in the pen: a bright spot that wanders, stands or sweeps for a minute."""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from nestwatch.synthetic.layout import Layout
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.nuisances.base import Nuisance, Plan, Settings, register
from nestwatch.synthetic.scenario import Span
from nestwatch.synthetic.soil import MEAN_SOIL, Map


class LampSettings(Settings):
    """`level`: added to bare soil in the middle of the spot. `width_m`: half width on the ground.
    `moves`: False for a lamp that stands still."""

    level: Span = (60.0, 160.0)
    width_m: Span = (0.4, 1.2)
    moves: bool = True


@register
class Lamp(Nuisance):
    """A spot of light on the ground, on and off within two frames."""

    kind: ClassVar[str] = "lamp"
    Settings: ClassVar[type[Settings]] = LampSettings

    def __init__(self, plan: Plan, layout: Layout, lens: Lens, camera: str) -> None:
        super().__init__(plan, layout, lens, camera)
        x, y = np.meshgrid(np.arange(lens.width) + 0.5, np.arange(lens.height) + 0.5)
        ground = np.nan_to_num(lens.ground(np.stack([x.ravel(), y.ravel()], axis=1)), nan=1e3)
        self._x = ground[:, 0].reshape(x.shape).astype(np.float32)
        self._y = ground[:, 1].reshape(x.shape).astype(np.float32)
        size = (layout.width, layout.depth)
        self._knots = self.pen_rng.uniform(0.1, 0.9, (8, 2)) * size

    def lamp(self, t: float) -> Map | None:
        plan = self.plan
        if not plan.start <= t < plan.end:
            return None
        share = (t - plan.start) / (plan.end - plan.start) if plan.values["moves"] else 0.0
        along = np.linspace(0, 1, len(self._knots))
        x, y = (np.float32(np.interp(share, along, self._knots[:, k])) for k in (0, 1))
        near = ((self._x - x) ** 2 + (self._y - y) ** 2) / np.float32(plan.values["width_m"] ** 2)
        return np.asarray(np.exp(-near) * np.float32(plan.values["level"] / MEAN_SOIL), np.float32)
