"""Dew: the ground slowly grows flatter, darker or lighter; bright specks that grow; a film on the glass."""

from __future__ import annotations

from math import exp
from typing import ClassVar

import cv2
import numpy as np

from nestwatch.synthetic.layout import Layout
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.nuisances.base import (
    GLASS,
    Bytes,
    Light,
    Nuisance,
    Plan,
    Positive,
    Settings,
    Share,
    register,
)
from nestwatch.synthetic.nuisances.glass import coarse_size, smear
from nestwatch.synthetic.scenario import Span
from nestwatch.synthetic.soil import Map, grain

STEP_S = 30.0
LEAST = 0.01


class DewSettings(Settings):
    """`tone`: share by which the ground grows lighter (negative: darker). `flatten`: share of its fine
    contrast that goes. `specks`: bright ones in the picture. `film`: how much the glass softens where it is
    worst, 0..1. `dry_min`: minutes to dry after the plan's end (time constant)."""

    tone: Span = (-0.15, 0.15)
    flatten: Share = (0.1, 0.5)
    specks: Span = (200.0, 1500.0)
    film: Share = (0.0, 0.6)
    dry_min: Positive = (20.0, 60.0)


@register
class Dew(Nuisance):
    """Falls evenly from the plan's start to its end and dries afterwards."""

    kind: ClassVar[str] = "dew"
    Settings: ClassVar[type[Settings]] = DewSettings
    layer: ClassVar[int] = GLASS

    def __init__(self, plan: Plan, layout: Layout, lens: Lens, camera: str) -> None:
        super().__init__(plan, layout, lens, camera)
        rng = self.camera_rng
        count = max(0, round(plan.values["specks"]))
        self._at = (rng.integers(0, lens.height, count), rng.integers(0, lens.width, count))
        self._from = rng.uniform(0, 0.9, count)
        self._bright = rng.uniform(0.2, 1.0, count)
        self._patches = grain(coarse_size(lens), {16.0: 1.0, 40.0: 1.0}, rng)

    def amount(self, t: float) -> float:
        """Of dew that lies, 0..1, in steps of `STEP_S`."""
        t, plan = STEP_S * (t // STEP_S), self.plan
        if t <= plan.start:
            return 0.0
        fallen = min((t - plan.start) / (plan.end - plan.start), 1.0)
        dried = exp(-max(t - plan.end, 0.0) / (60 * plan.values["dry_min"]))
        return fallen * dried if fallen * dried > LEAST else 0.0

    def epoch(self, t: float) -> float:
        return self.amount(t)

    def cover(self, seen: Map, t: float) -> Map:
        amount, values = np.float32(self.amount(t)), self.plan.values
        if amount == 0:
            return seen
        soft = cv2.GaussianBlur(seen, (0, 0), 3 * self.lens.width / 640)
        flat = seen + amount * np.float32(values["flatten"]) * (soft - seen)
        # Specks lie on what dew settles on: open water, which is nearly black, shows none.
        dry_land = np.clip(seen * np.float32(5) - np.float32(0.5), 0, 1)
        shown = flat * (1 + amount * np.float32(values["tone"])) + dry_land * self._specks(float(amount))
        return np.asarray(shown, np.float32)

    def _specks(self, amount: float) -> Map:
        """Reflectance they add; each begins when its own amount of dew has fallen, and grows."""
        unit = self.lens.width / 640
        width = (0.5 + 0.4 * amount) * unit
        points = np.zeros((self.lens.height, self.lens.width), np.float32)
        np.add.at(points, self._at, self._bright * np.clip(2.5 * (amount - self._from), 0, 1))
        return np.asarray(cv2.GaussianBlur(points, (0, 0), width) * np.float32(3.0 * unit**2), np.float32)

    def draw(self, picture: Bytes, t: float, light: Light) -> None:
        film = self.amount(t) * self.plan.values["film"]
        if film > LEAST:
            share = np.asarray(np.clip(np.float32(film) * (self._patches + 0.5), 0, 0.9), np.float32)
            smear(picture, share, blur_px=4.0, rise=6 * film)
