"""The pen's plants: still without wind, swaying with it."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.synthetic.layout import Plant
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.scene import blades

Bytes = NDArray[np.uint8]


class Plants:
    """Draws plants over what is in the picture already. The same time and wind give the same blades."""

    def __init__(self, lens: Lens, plants: Sequence[Plant]) -> None:
        self._lens = lens
        self._thick = max(1, round(lens.width / 640))
        self._plants = []
        for plant in plants:
            rng = np.random.default_rng([plant.seed, 1])
            still = np.stack(blades(lens, plant, np.zeros(plant.blades)))
            bent = np.stack(blades(lens, plant, np.full(plant.blades, 0.1)))
            rate, phase = rng.uniform(0.25, 0.9, plant.blades), rng.uniform(0, 2 * np.pi, plant.blades)
            middle = lens.project([(*plant.at, 0.5 * plant.height_m)])[0]
            tone = float(rng.uniform(0.55, 0.8))
            self._plants.append((still, (bent - still) * 10.0, rate, phase, middle, tone, plant.height_m))

    def draw(self, picture: Bytes, t: float, wind: float, light: NDArray[np.float32]) -> None:
        """`wind` 0..1 is how hard it blows; `light` levels per reflectance (rows, columns)."""
        rows, columns = light.shape
        for still, per_metre, rate, phase, middle, tone, tall in self._plants:
            lines = still
            if wind > 0:
                bend = 0.35 * tall * wind * (0.5 + np.sin(2 * np.pi * rate * t + phase))
                lines = np.round(still + per_metre * bend[:, None, None]).astype(np.int32)
            x, y = min(max(int(middle[0]), 0), columns - 1), min(max(int(middle[1]), 0), rows - 1)
            level = min(16 + tone * float(light[y, x]), 235)
            cv2.polylines(picture, list(lines), False, level, self._thick, cv2.LINE_AA, 4)
