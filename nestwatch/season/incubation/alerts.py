"""What wants doing now. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from nestwatch.season.incubation.checks import water_missing
from nestwatch.season.incubation.hatchings import YOLK
from nestwatch.season.incubation.profile import Profile
from nestwatch.season.incubation.records import Container, Hatching, Series, Weighing
from nestwatch.season.incubation.window import Window

Kind = Literal[
    "too-hot", "too-cold", "no-reading", "window-near", "window-open", "overdue", "weigh", "water", "yolk"
]
SILENT = timedelta(hours=24)
"""After so long without a reading somebody should look (judgement, no source)."""
NEAR = timedelta(days=7)
WEIGH = timedelta(days=7)
"""Boxes are weighed once a week (common practice, no source)."""
LEAST_WATER_G = 2.0
_URGENT = (
    "too-hot",
    "too-cold",
    "no-reading",
    "overdue",
    "window-open",
    "yolk",
    "window-near",
    "water",
    "weigh",
)


@dataclass(frozen=True, slots=True)
class Alert:
    """One thing to do. `box`: its label."""

    kind: Kind
    box: str
    words: str


def urgent_first(alerts: Sequence[Alert]) -> tuple[Alert, ...]:
    """By urgency, then by box."""
    return tuple(sorted(alerts, key=lambda each: (_URGENT.index(each.kind), each.box)))


def reading_alerts(
    box: str, profile: Profile, readings: Sequence[tuple[str, Series]], now: datetime, zone: ZoneInfo
) -> Iterator[Alert]:
    """Too hot, too cold, no reading, for each probe (name, series) of a box that still holds eggs."""
    if not any(len(series.seconds) for _, series in readings):
        yield Alert("no-reading", box, "no reading at all: enter a probe and its readings, or look yourself.")
        return
    for name, series in readings:
        last = series.last
        if last is None:
            yield Alert("no-reading", box, f"probe {name} has no reading yet.")
        elif now - last > SILENT:
            hours = (now - last).total_seconds() / 3600
            yield Alert(
                "no-reading", box, f"probe {name} has told nothing for {_long(hours)}: look yourself."
            )
        else:
            yield from _temperature(box, profile, name, series, zone)


def window_alerts(box: str, of: str, window: Window | None, left: int, today: date) -> Iterator[Alert]:
    """Window opens within a week, is open, or is over, while `left` eggs (above 0) are not settled."""
    if window is None:
        return
    eggs = f"{left} egg{'' if left == 1 else 's'} of {of}"
    if window.last is not None and today > window.last:
        days = (today - window.last).days
        yield Alert(
            "overdue",
            box,
            f"{eggs}: the window ended {window.last}, {days} day{'' if days == 1 else 's'} ago. Do not open "
            "eggs; candle them without turning, wait, and ask your vet.",
        )
    elif today >= window.first:
        yield Alert("window-open", box, f"{eggs}: hatching is to be expected any day ({window.words()}).")
    elif today >= window.first - NEAR:
        days = (window.first - today).days
        ahead = f"in {days} day{'' if days == 1 else 's'}"
        yield Alert("window-near", box, f"{eggs}: the window opens {ahead} ({window.words()}).")


def water_alerts(container: Container, weighed: Sequence[Weighing], now: datetime) -> Iterator[Alert]:
    """Weigh once a week, and top up to the start mass."""
    missing = water_missing(container, tuple(weighed))
    if missing is not None and missing >= LEAST_WATER_G:
        words = f"{missing:.0f} g lighter than at the start: add water beside the eggs, never over them."
        yield Alert("water", container.label, words)
    last = weighed[-1].at if weighed else container.set_up_at
    if now - last > WEIGH:
        days = (now - last).days
        yield Alert("weigh", container.label, f"not weighed for {days} days: weigh it and top up its water.")


def yolk_alerts(hatched: Sequence[Hatching], now: datetime, zone: ZoneInfo) -> Iterator[Alert]:
    """Hatchlings whose week in the incubator is over."""
    for each in hatched:
        if each.outcome == "alive" and each.left_at is None and now >= each.at + YOLK:
            who = each.name or f"the hatchling of egg {each.position}"
            words = (
                f"{who} hatched {each.at.astimezone(zone):%Y-%m-%d}: if its yolk is absorbed, it may leave."
            )
            yield Alert("yolk", each.container_label, words)


def _temperature(box: str, profile: Profile, name: str, series: Series, zone: ZoneInfo) -> Iterator[Alert]:
    """The last reading against the alarm temperatures, else against those aimed at."""
    limits = profile.alarm_c or profile.aim_c
    if limits is None or series.last is None:
        return
    value = float(series.celsius[-1])
    at = f"{value:.1f} °C at {series.last.astimezone(zone):%Y-%m-%d %H:%M}, probe {name}"
    if value > limits.high:
        words = f"{at}: above {limits.high:g} °C {limits.credit}. Cool it gently, do not turn eggs."
        yield Alert("too-hot", box, words)
    elif value < limits.low:
        yield Alert("too-cold", box, f"{at}: below {limits.low:g} °C {limits.credit}. Is the heater on?")


def _long(hours: float) -> str:
    return f"{hours:.0f} h" if hours < 72 else f"{hours / 24:.0f} days"
