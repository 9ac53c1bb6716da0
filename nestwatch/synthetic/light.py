"""The light of the night: day fading, the camera's switch to infrared, the lamp's beam."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta

import ephem
import numpy as np
from numpy.typing import NDArray

from nestwatch.synthetic.layout import draw
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.scenario import Scenario
from nestwatch.synthetic.soil import MEAN_SOIL, Map
from nestwatch.synthetic.story import Clock, Generator

BLACK = 16.0
"""Level of black in limited-range video."""


@dataclass(frozen=True, slots=True)
class Dusk:
    """When it is day, seconds since the night's start. `sunset`, `sunrise` NaN where the sun does not."""

    sunset: float
    sunrise: float
    dark_from: float
    dark_to: float

    def infrared(self, t: float) -> bool:
        return self.dark_from <= t < self.dark_to

    def daylight(self, t: float) -> float:
        """Brightness by day, 1 until half an hour before sunset, 0.35 at the switch."""
        if self.infrared(t):
            return 0.0
        left = min(abs(t - self.dark_from), abs(t - self.dark_to)) / 3000.0
        return 0.35 + 0.65 * min(left, 1.0)


def make_dusk(scenario: Scenario, clock: Clock, rng: Generator) -> Dusk:
    """Sunset and sunrise from ephem, and when the camera turns infrared and back."""
    sunset, sunrise = _sun(scenario, clock)
    late = 60 * draw(scenario.light.switch_min, rng)
    dark_from = sunset + late if scenario.light.switch_at is None else clock.offset(scenario.light.switch_at)
    if np.isnan(dark_from):
        dark_from = float("inf")
    dark_to = float("inf") if np.isnan(sunrise) else sunrise - late
    return Dusk(sunset, sunrise, dark_from, dark_to)


def _sun(scenario: Scenario, clock: Clock) -> tuple[float, float]:
    place = ephem.Observer()
    place.lat, place.lon = str(scenario.night.latitude), str(scenario.night.longitude)
    noon = datetime.combine(clock.evening, time(12), clock.zone)
    place.date = noon.astimezone(UTC).replace(tzinfo=None)
    try:
        sunset = place.next_setting(ephem.Sun())
        place.date = sunset
        sunrise = place.next_rising(ephem.Sun())
    except (ephem.AlwaysUpError, ephem.NeverUpError):
        return float("nan"), float("nan")
    return _since(sunset.datetime(), clock), _since(sunrise.datetime(), clock)


def _since(when: datetime, clock: Clock) -> float:
    """Seconds from the night's start to a naive UTC time."""
    return (when.replace(tzinfo=UTC) - clock.start) / timedelta(seconds=1)


class Beam:
    """Levels per unit of reflectance, over black, for every pixel: `infrared` and `sky`, float32 maps."""

    def __init__(self, lens: Lens, scenario: Scenario, rng: Generator) -> None:
        x, y = np.meshgrid(np.arange(lens.width) + 0.5, np.arange(lens.height) + 0.5)
        rays = lens.rays(np.stack([x.ravel(), y.ravel()], axis=1)).reshape(*x.shape, 3)
        off = np.degrees(np.arccos(np.clip(rays @ _aim(lens, rng), -1, 1)))
        half = draw(scenario.light.falloff_deg, rng)
        beam = np.exp(-np.log(2) * (off / half) ** 2)
        with np.errstate(divide="ignore"):
            far = np.clip(-lens.eye[2] / np.minimum(rays[..., 2], -0.05), 1.5, 12.0)
        strength = 0.06 + beam * (far.min() / far) ** 1.1
        vignette = 1 - 0.25 * (np.degrees(np.arccos(np.clip(rays @ lens.turn[2], -1, 1))) / 55) ** 2
        level = draw(scenario.light.ir_level, rng) - BLACK
        shown = (strength / strength.max()) ** 0.75 * vignette
        self.infrared: Map = (level / MEAN_SOIL * shown).astype(np.float32)
        self.sky: Map = ((118 - BLACK) / MEAN_SOIL * vignette).astype(np.float32)


def _aim(lens: Lens, rng: Generator) -> NDArray[np.float64]:
    """Where the lamp points: nearly where the camera does."""
    aim = lens.turn[2] + rng.normal(0, 0.08, 3)
    return np.asarray(aim / np.linalg.norm(aim), np.float64)
