"""The invented season's eggs in boxes: readings, looks through the shell, hatchlings and how they grew.

Hatching days lie inside the species profile; masses and lengths of hatchlings are invented.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

import numpy as np

from nestwatch.season.incubation.checks import enter_checks, enter_weighing
from nestwatch.season.incubation.containers import add_container
from nestwatch.season.incubation.eggs import eggs_of, put_eggs
from nestwatch.season.incubation.growth import enter_growth
from nestwatch.season.incubation.hatchings import HatchingChanges, settle_egg
from nestwatch.season.incubation.logger.records import Log
from nestwatch.season.incubation.probes import enter_probe
from nestwatch.season.incubation.readings import take_log
from nestwatch.season.incubation.records import Egg, Floats, Outcome, Series
from nestwatch.season.open import Record
from nestwatch.season.records import Clutch
from nestwatch.site.records import Site

_DRY_G, _WATER_G, _BOX_G, _EGG_G = 300.0, 337.0, 210.0, 8.0
_HATCH_DAYS = (58, 66)
_CANDLED = timedelta(days=12)
_STEP = timedelta(minutes=30)
_GAP = (0.55, 0.6)
"""Share of the readings that the logger lost, so that a gap shows."""


def incubate(record: Record, site: Site, clutches: Sequence[Clutch], morning: datetime) -> None:
    """Put every clutch into a box of its own, and enter all that became of it until `morning` (aware)."""
    rng = np.random.default_rng(7)
    counts: dict[int, int] = {}
    for clutch in clutches:
        number = counts[clutch.night.year] = counts.get(clutch.night.year, 0) + 1
        label = f"{clutch.night:%y}-{number:02d}"
        _box(record, site, clutch, label, number)
        _looked_through(record, clutch, label, morning, rng)
        _hatched(record, clutch, label, morning, rng)
    for year, first in {c.night.year: c for c in reversed(clutches)}.items():
        _logged(record, site, year, first.laid_at, morning, rng)


def _box(record: Record, site: Site, clutch: Clutch, label: str, number: int) -> None:
    put_at = clutch.lifted_at or clutch.laid_at
    told = {
        "medium": "vermiculite",
        "dry_g": _DRY_G,
        "water_g": _WATER_G,
        "start_g": _start_g(clutch.eggs.whole or 0),
        "incubator": f"{clutch.night.year} {'left' if number % 2 else 'right'}",
        "shelf": str(1 + number % 3),
        "set_up_at": put_at,
    }
    add_container(record, site, label, told)  # type: ignore[arg-type]
    put_eggs(record, clutch, label, clutch.eggs.whole or 0, top_marked=True, at=put_at)


def _looked_through(
    record: Record, clutch: Clutch, label: str, morning: datetime, rng: np.random.Generator
) -> None:
    at = (clutch.lifted_at or clutch.laid_at) + _CANDLED
    if at > morning:
        return
    inside = [egg.position for egg in eggs_of(record, clutch)]
    clear = [name for name in inside if rng.random() < 0.12]
    good = tuple(name for name in inside if name not in clear)
    enter_checks(record, label, "developing", positions=good, at=at)
    if clear:
        enter_checks(record, label, "clear", positions=tuple(clear), at=at)
    _weighed(record, label, at, morning, _start_g(len(inside)), rng)


def _start_g(eggs: int) -> float:
    """Mass of a box with so many eggs when it was set up."""
    return _DRY_G + _WATER_G + _BOX_G + _EGG_G * eggs


def _weighed(
    record: Record, label: str, first: datetime, morning: datetime, start_g: float, rng: np.random.Generator
) -> None:
    """Weighed and topped up every ten days while the eggs lie there; some boxes wait for their turn."""
    at, last = first, min(morning, first + timedelta(days=50))
    while at < last - timedelta(days=int(rng.integers(0, 12))):
        lost = float(rng.integers(4, 15))
        enter_weighing(record, label, start_g - lost, added_g=lost, at=at)
        at += timedelta(days=10)


def _hatched(record: Record, clutch: Clutch, label: str, morning: datetime, rng: np.random.Generator) -> None:
    """The eggs of a clutch whose days are over; the first hatchlings are followed for two months."""
    first = clutch.laid_at + timedelta(days=int(rng.integers(*_HATCH_DAYS)))
    if first + timedelta(days=12) > morning:
        return
    for number, egg in enumerate(eggs_of(record, clutch), start=1):
        chance = rng.random()
        outcome: Outcome = (
            "infertile" if chance < 0.12 else "dead-in-shell" if chance < 0.2 else
            "lost" if chance < 0.23 else "alive"
        )  # fmt: skip
        at = first + timedelta(hours=int(rng.integers(0, 60)))
        settle_egg(record, label, egg.position, _became(egg, outcome, at, f"{label}/{number}", rng))
        if outcome == "alive" and number <= 2:
            _grown(record, f"{label}/{number}", at, morning, rng)


def _became(egg: Egg, outcome: Outcome, at: datetime, name: str, rng: np.random.Generator) -> HatchingChanges:
    changes: HatchingChanges = {"outcome": outcome, "at": max(at, egg.put_at)}
    if outcome == "alive":
        changes |= {
            "name": name,
            "mass_g": round(float(rng.normal(5.2, 0.4)), 1),
            "shell_mm": round(float(rng.normal(26.0, 1.0)), 1),
            "left_at": at + timedelta(days=6),
        }
    return changes


def _grown(record: Record, name: str, at: datetime, morning: datetime, rng: np.random.Generator) -> None:
    for month in (1, 2):
        when = at + timedelta(days=30 * month)
        if when < morning:
            mass, shell = 5.2 + 1.6 * month + rng.normal(0, 0.3), 26 + 2.1 * month + rng.normal(0, 0.4)
            enter_growth(record, name, mass_g=round(mass, 1), shell_mm=round(shell, 1), at=when)


def _logged(
    record: Record, site: Site, year: int, first: datetime, morning: datetime, rng: np.random.Generator
) -> None:
    """Half-hourly readings of a probe in either incubator of a year, with a gap."""
    end = min(first + timedelta(days=90), morning)
    count = int((end - first) / _STEP)
    seconds = first.timestamp() + _STEP.total_seconds() * np.arange(count)
    share = np.arange(count) / count
    kept = (share < _GAP[0]) | (share > _GAP[1])
    for side, mean in (("left", 28.6), ("right", 29.3)):
        wave = 0.35 * np.sin(2 * np.pi * seconds / 86400) + rng.normal(0, 0.12, count)
        celsius: Floats = np.round(mean + wave, 2).astype(np.float64)
        series = Series(seconds.astype(np.float64)[kept], celsius[kept], np.full(int(kept.sum()), np.nan))
        name = f"{side} {year}"
        enter_probe(record, name, {"incubator": f"{year} {side}", "lies": "substrate"})
        log = Log(series, ("invented readings",), (), first, end)
        take_log(record, site, name, log, f"invented-{side}-{year}.csv")
