"""Development so far from what a probe read, with a lower and an upper bound where it read nothing. Pure.

Between readings at most `MAX_GAP` apart the temperature runs straight from one to the next. Over a longer gap
it may have been anything between its neighbours and the temperatures that are kept. Outside the temperatures
at which a model was measured its rate is not believed: below them development is anything from none to the
rate at their cool end, above them anything from none to the rate carried on.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np

from nestwatch.season.incubation.development import (
    Floats,
    Model,
    added_up,
    equivalent_of_readings,
)
from nestwatch.season.incubation.records import Series

MAX_GAP = timedelta(hours=3)
"""Eggs in a medium change slowly (judgement, no source)."""
LOOK_BACK = timedelta(days=7)
"""The days whose temperatures are expected to go on."""
STALE = timedelta(hours=24)
"""After so long without a reading the last ones tell nothing of now (judgement, no source)."""
BAND_C = 0.5
"""Added to the range of the last days when looking ahead (judgement, no source)."""
DAY_S = 86400.0

Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch without readings, and the temperatures assumed in it (degrees Celsius)."""

    start: datetime
    end: datetime
    assumed_c: Range

    @property
    def hours(self) -> float:
        """How long it is."""
        return (self.end - self.start).total_seconds() / 3600


@dataclass(frozen=True, slots=True)
class Course:
    """Development from laying to `until`.

    `days` since laying (n,), `low` and `high`: the share done by then (n,), rising; `gaps` longest of all
    first to last in time; `hours_below`, `hours_above`: hours read outside the model's temperatures;
    `ahead_c`: temperatures expected from `until` on; `equivalent_c`: constant-temperature equivalent of all
    that was read, None where nothing developed or was read.
    """

    laid: datetime
    until: datetime
    days: Floats
    low: Floats
    high: Floats
    gaps: tuple[Gap, ...]
    hours_below: float
    hours_above: float
    ahead_c: Range
    equivalent_c: float | None

    @property
    def done(self) -> Range:
        """Share of the development done by `until`, at least and at most."""
        return float(self.low[-1]), float(self.high[-1])


def follow(series: Series, model: Model, laid: datetime, until: datetime, kept: Range | None) -> Course:
    """The course of development by one probe.

    `laid`, `until`: aware instants, `laid` first. `kept`: temperatures that are aimed at, None where unknown
    (then the model's). Readings outside [laid, until] are left out.
    """
    inside = series.between(laid, until)
    assumed = kept or model.within_c
    seconds = np.concatenate([[laid.timestamp()], inside.seconds, [until.timestamp()]])
    long = np.flatnonzero(np.diff(seconds) > MAX_GAP.total_seconds())
    gaps = tuple(_gap(seconds, inside.celsius, int(k), assumed) for k in long)
    days = (seconds - seconds[0]) / DAY_S
    low, high = _bounds(inside, days, model, dict(zip(long.tolist(), gaps, strict=True)))
    cold, hot = _hours_outside(inside, model.within_c)
    weights = _weights(inside)
    known = equivalent_of_readings(inside.celsius, weights, model) if len(weights) else None
    return Course(laid, until, days, low, high, gaps, cold, hot, _ahead(inside, until, assumed), known)


def rate_bounds(model: Model, cool: Floats, warm: Floats) -> tuple[Floats, Floats]:
    """Lowest and highest share a day of temperatures between `cool` and `warm`, (n,) each."""
    first, last = model.within_c
    lowest = np.where((cool < first) | (warm > last), 0.0, model.rate(cool))
    highest = model.rate(np.maximum(warm, first))
    return lowest, highest


def _gap(seconds: Floats, celsius: Floats, k: int, assumed: Range) -> Gap:
    """The stretch from instant `k` on; `seconds` (n + 2,) holds laying and the end around `celsius` (n,)."""
    beside = celsius[max(k - 1, 0) : k + 1].tolist()
    start, end = (datetime.fromtimestamp(float(seconds[j]), UTC) for j in (k, k + 1))
    return Gap(start, end, (min([assumed[0], *beside]), max([assumed[1], *beside])))


def _bounds(inside: Series, days: Floats, model: Model, gaps: Mapping[int, Gap]) -> tuple[Floats, Floats]:
    """(least, most) done at each of `days`: at laying, each reading and the end. `gaps`: by stretch."""
    held = inside.celsius if len(inside.celsius) else np.array([sum(model.within_c) / 2])
    celsius = np.concatenate([[held[0]], held if len(inside.celsius) else [], [held[-1]]])
    steps = [np.diff(added_up(days, each)) for each in rate_bounds(model, celsius, celsius)]
    for k, gap in gaps.items():
        edges = rate_bounds(model, *(np.array([each]) for each in gap.assumed_c))
        for each, rate in zip(steps, edges, strict=True):
            each[k] = float(rate[0]) * (days[k + 1] - days[k])
    low, high = (np.concatenate([[0.0], np.cumsum(each)]) for each in steps)
    return low, high


def _weights(inside: Series) -> Floats:
    """Seconds each reading stands for: half way to its neighbours, never more than `MAX_GAP` each way."""
    if len(inside.seconds) < 2:
        return np.ones(len(inside.seconds))
    half = np.minimum(np.diff(inside.seconds), MAX_GAP.total_seconds()) / 2
    weights: Floats = np.concatenate([[0.0], half]) + np.concatenate([half, [0.0]])
    return weights


def _hours_outside(inside: Series, within: Range) -> Range:
    weights = _weights(inside) / 3600 if len(inside.seconds) > 1 else np.zeros(len(inside.seconds))
    below, above = inside.celsius < within[0], inside.celsius > within[1]
    return float(weights[below].sum()), float(weights[above].sum())


def _ahead(inside: Series, until: datetime, assumed: Range) -> Range:
    """What to expect: the daily means of the last week, and a band; else the temperatures aimed at."""
    recent = inside.between(until - LOOK_BACK, until)
    if not len(recent.seconds) or until.timestamp() - recent.seconds[-1] > STALE.total_seconds():
        return assumed
    age = np.floor((recent.seconds[-1] - recent.seconds) / DAY_S)
    means = [float(recent.celsius[age == day].mean()) for day in np.unique(age)]
    return min(means) - BAND_C, max(means) + BAND_C
