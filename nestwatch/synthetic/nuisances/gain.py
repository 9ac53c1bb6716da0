"""The camera's automatic gain: a slow drift, and pumping up and down."""

from __future__ import annotations

from math import pi, sin
from typing import ClassVar

import numpy as np

from nestwatch.synthetic.layout import Layout
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.nuisances.base import Nuisance, Plan, Settings, register
from nestwatch.synthetic.scenario import Span


class DriftSettings(Settings):
    """`amount`: largest change as a share. `period_min`: minutes of one swing."""

    amount: Span = (0.04, 0.15)
    period_min: Span = (20.0, 90.0)


@register
class GainDrift(Nuisance):
    """The whole picture grows slowly brighter and darker."""

    kind: ClassVar[str] = "gain_drift"
    Settings: ClassVar[type[Settings]] = DriftSettings

    def gain(self, t: float) -> float:
        turn = 2 * pi * t / (60 * self.plan.values["period_min"])
        return float(1 + self.plan.values["amount"] * self.plan.over(t) * sin(turn))


class PumpSettings(Settings):
    """`amount`: size of a jump as a share. `every_s`: seconds between jumps; each settles in `settle_s`."""

    amount: Span = (0.05, 0.18)
    every_s: Span = (20.0, 120.0)
    settle_s: Span = (2.0, 8.0)


@register
class GainPump(Nuisance):
    """The gain jumps and settles back, again and again."""

    kind: ClassVar[str] = "gain_pump"
    Settings: ClassVar[type[Settings]] = PumpSettings

    def __init__(self, plan: Plan, layout: Layout, lens: Lens, camera: str) -> None:
        super().__init__(plan, layout, lens, camera)
        count = int((plan.end - plan.start) / plan.values["every_s"]) + 1
        self._times = np.sort(self.camera_rng.uniform(plan.start, plan.end, count))
        self._jumps = self.camera_rng.choice([-1.0, 1.0], count) * plan.values["amount"]

    def gain(self, t: float) -> float:
        k = int(np.searchsorted(self._times, t)) - 1
        if k < 0:
            return 1.0
        return float(1 + self._jumps[k] * np.exp(-(t - self._times[k]) / self.plan.values["settle_s"]))
