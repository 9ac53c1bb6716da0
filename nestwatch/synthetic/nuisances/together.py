"""All disturbances of one camera's night as one: what they make of the light, the ground, the picture."""

from __future__ import annotations

from collections.abc import Sequence
from math import prod

import numpy as np

from nestwatch.synthetic.nuisances.base import Bytes, Light, Nuisance, Shift
from nestwatch.synthetic.nuisances.moved import total
from nestwatch.synthetic.soil import Map

FADED = 0.02
"""The camera's own lamp counts as out below this share, and what only it lights is not drawn."""


class Together:
    """Asks every disturbance; without any, each answer is the one that changes nothing."""

    def __init__(self, nuisances: Sequence[Nuisance]) -> None:
        self._every = tuple(sorted(nuisances, key=lambda nuisance: nuisance.layer))

    def freeze(self, t: float) -> float:
        """The time whose frame is recorded at `t`."""
        for nuisance in self._every:
            t = nuisance.freeze(t)
        return t

    def gain(self, t: float) -> float:
        return prod(nuisance.gain(t) for nuisance in self._every)

    def noise(self, t: float) -> float:
        return prod(nuisance.noise(t) for nuisance in self._every)

    def fade(self, t: float) -> float:
        return prod(nuisance.fade(t) for nuisance in self._every)

    def lamp_left(self, t: float) -> float:
        return prod(nuisance.lamp_left(t) for nuisance in self._every)

    def wet(self, t: float) -> float:
        return max((nuisance.wet(t) for nuisance in self._every), default=0.0)

    def wind(self, t: float) -> float:
        return max((nuisance.wind(t) for nuisance in self._every), default=0.0)

    def epoch(self, t: float) -> tuple[float, ...]:
        """Stays the same while `shade`, `cover` and `lamp_left` do."""
        return (self.lamp_left(t), *(nuisance.epoch(t) for nuisance in self._every))

    def shade(self, light: Map, t: float, *, infrared: bool) -> Map:
        """`light` (rows, columns) with every shadow in it."""
        for nuisance in self._every:
            shade = nuisance.shade(t, infrared=infrared)
            light = light if shade is None else np.asarray(light * shade, np.float32)
        return light

    def cover(self, seen: Map, t: float) -> Map:
        """The ground's reflectance (rows, columns) with all that lies on it."""
        for nuisance in self._every:
            seen = nuisance.cover(seen, t)
        return seen

    def lamps(self, t: float) -> Map | None:
        """Levels per reflectance that lamps add (rows, columns), None without one."""
        lit = [lamp for nuisance in self._every if (lamp := nuisance.lamp(t)) is not None]
        return np.sum(lit, axis=0, dtype=np.float32) if lit else None

    def draw(self, picture: Bytes, t: float, light: Light, *, layers: Sequence[int], infrared: bool) -> None:
        """Draws those of some layers, the farthest first."""
        dark = infrared and self.lamp_left(t) < FADED
        for nuisance in self._every:
            if nuisance.layer in layers and not (dark and nuisance.lit_by_camera):
                nuisance.draw(picture, t, light)

    def shift(self, t: float) -> Shift:
        return total([nuisance.shift(t) for nuisance in self._every])

    def spoil(self, luma: Bytes, t: float) -> None:
        for nuisance in self._every:
            nuisance.spoil(luma, t)
