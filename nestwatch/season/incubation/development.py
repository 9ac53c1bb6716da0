"""Share of development a day by temperature, and what equals a fluctuating temperature. Pure.

The linear model (degree-days): development goes on at (T - T0) / S a day above the threshold T0, and not at
all below it; hatching comes when the degree-days have added up to S. The table model: published days to
hatching at constant temperatures, the rate (1 / days) interpolated between them.

Constant-temperature equivalent: the temperature above which half of the development takes place and below
which the other half (Georges 1989, Oecologia; the equation is from memory, its arithmetic was checked).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq

from nestwatch.errors import EntryError

Floats = NDArray[np.float64]


class Model(Protocol):
    """Development by temperature. `within_c`: the constant temperatures at which it was measured."""

    @property
    def within_c(self) -> tuple[float, float]:
        """(low, high), degrees Celsius."""
        ...

    def rate(self, celsius: ArrayLike) -> Floats:
        """Share of the whole development per day; the shape of `celsius`."""
        ...

    def words(self) -> str:
        """What it rests on, stated for the keeper."""
        ...


@dataclass(frozen=True, slots=True)
class DegreeDays:
    """`threshold_c` in degrees Celsius, `total` in degree-days above it (above 0)."""

    threshold_c: float
    total: float
    within_c: tuple[float, float]

    def rate(self, celsius: ArrayLike) -> Floats:
        """Share of the development per day."""
        above: Floats = np.asarray(celsius, dtype=np.float64) - self.threshold_c
        return np.maximum(above, 0.0) / self.total

    def words(self) -> str:
        """The threshold and the sum."""
        return f"degree-days above {self.threshold_c:g} °C, {self.total:g} of them until hatching"


@dataclass(frozen=True, slots=True)
class DaysTable:
    """Days to hatching at constant temperatures: `celsius` ascending, `days` beside them, two or more.

    Beyond its ends the rate goes on along the last stretch, never below 0.
    """

    celsius: tuple[float, ...]
    days: tuple[float, ...]

    @property
    def within_c(self) -> tuple[float, float]:
        """The table's first and last temperature."""
        return self.celsius[0], self.celsius[-1]

    def rate(self, celsius: ArrayLike) -> Floats:
        """Share of the development per day."""
        x, y = np.asarray(self.celsius), 1 / np.asarray(self.days)
        at: Floats = np.asarray(celsius, dtype=np.float64)
        inside: Floats = np.interp(at, x, y)
        below = y[0] + (at - x[0]) * (y[1] - y[0]) / (x[1] - x[0])
        above = y[-1] + (at - x[-1]) * (y[-1] - y[-2]) / (x[-1] - x[-2])
        return np.maximum(np.where(at < x[0], below, np.where(at > x[-1], above, inside)), 0.0)

    def words(self) -> str:
        """The table in one line."""
        points = ", ".join(f"{t:g} °C {d:.1f}" for t, d in zip(self.celsius, self.days, strict=True))
        return f"days to hatching at constant temperatures ({points})"


def line_through(cool: tuple[float, float], warm: tuple[float, float]) -> DegreeDays:
    """The linear model through two (°C, days to hatching) points. Raises `ValueError` where none fits."""
    (t1, d1), (t2, d2) = cool, warm
    if not (t1 < t2 and d1 > d2 > 0):
        raise ValueError("the warmer point must take fewer days than the cooler one")
    threshold = (d1 * t1 - d2 * t2) / (d1 - d2)
    return DegreeDays(threshold, d1 * (t1 - threshold), (t1, t2))


def added_up(days: ArrayLike, rates: ArrayLike) -> Floats:
    """Development done since the first instant: trapezoids of `rates` (per day) over `days`; from 0."""
    steps = np.diff(np.asarray(days, dtype=np.float64))
    values = np.asarray(rates, dtype=np.float64)
    return np.concatenate([[0.0], np.cumsum(steps * (values[1:] + values[:-1]) / 2)])


def equivalent_of_sine(mean_c: float, swing_c: float, threshold_c: float) -> float:
    """Constant-temperature equivalent of `mean_c + swing_c * cos`, degrees Celsius (Georges 1989).

    Solves (M - T0) t + R sin t = (M - T0) pi / 2 for t; the answer is M + R cos t. Raises `EntryError` where
    the coolest hour falls below the threshold: the equation does not hold there.
    """
    above = mean_c - threshold_c
    if swing_c < 0 or above < swing_c or above <= 0:
        raise EntryError(
            f"no equivalent by that equation: {mean_c:g} °C less a swing of {swing_c:g} °C must not fall "
            f"below the threshold of {threshold_c:g} °C."
        )

    def excess(t: float) -> float:
        return above * t + swing_c * math.sin(t) - above * math.pi / 2

    return mean_c + swing_c * math.cos(float(brentq(excess, 0.0, math.pi)))


def equivalent_of_readings(celsius: ArrayLike, weights: ArrayLike, model: Model) -> float | None:
    """Constant-temperature equivalent of readings of any course: half of the development went on above it.

    `weights`: the time each reading stands for, in any unit. None where nothing developed.
    """
    # Loggers give the same value many times; together they are one step of the sum.
    at, which = np.unique(np.round(np.asarray(celsius, dtype=np.float64), 2), return_inverse=True)
    done = model.rate(at) * np.bincount(which, np.asarray(weights, dtype=np.float64), len(at))
    total = float(done.sum())
    if total <= 0:
        return None
    middle = (np.cumsum(done) - done / 2) / total  # the share at each reading's own middle
    return float(np.interp(0.5, middle, at))
