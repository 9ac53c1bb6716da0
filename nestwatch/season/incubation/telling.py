"""Incubation in the keeper's words, the same on the terminal and on the page. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from nestwatch.season.incubation.checks import water_missing
from nestwatch.season.incubation.expected import Expected
from nestwatch.season.incubation.logger.records import Log
from nestwatch.season.incubation.records import (
    Batch,
    Check,
    Container,
    Egg,
    Growth,
    Hatching,
    Probe,
    Weighing,
)
from nestwatch.season.telling import day_clock

ESTIMATES = (
    "Windows are estimates: nothing here replaces a vet. Follow your licence and local law; where they "
    "differ from this, they win."
)
NEVER_TURN = "Mark the top of each egg before you lift it, and never turn it."
IN_THE_SUBSTRATE = "Put one into the substrate where you can: air may differ from eggs by about 2 °C."
YOLK_WEEK = "Hatchlings stay about a week in the incubator, until the yolk is absorbed."
WASH = (
    "Healthy-looking turtles carry Salmonella: wash hands with soap for 20 seconds after animals, eggs, "
    "water, medium or kit, and keep all of it away from kitchens (CDC advice, as quoted on other pages)."
)
_TOPS = {True: "top marked", False: "top not marked", None: "top not told"}


def egg_words(egg: Egg) -> str:
    """`3: 2026-06-12 dig 1, top marked`."""
    return f"{egg.position}: {egg.of}, {top_words(egg)}"


def top_words(egg: Egg) -> str:
    """`top marked`, `top not marked`, `top not told`."""
    return _TOPS[egg.top_marked]


def due_words(each: Expected) -> str:
    """`2026-08-06 to 2026-08-26`, or why nothing is known."""
    return each.window.words() if each.window else "not known: the profile has no days and no model"


def reasons(each: Expected) -> tuple[str, ...]:
    """Why the window is what it is, and why it is wide."""
    lines = () if each.window is None else (*each.window.reasons, *each.window.widened)
    other = each.by_profile if each.window and each.window.by == "readings" else None
    return lines if other is None else (*lines, f"By the profile's days alone: {other.words()}.")


def probe_words(probe: Probe, box: Container | None) -> str:
    """`p1: in box A1, in the substrate`. `box`: that of the probe, None where it lies in none."""
    where = [] if box is None else [f"in box {box.label}"]
    where += [f"in incubator {probe.incubator}"] if probe.incubator else []
    where += [f"in the {probe.lies}"] if probe.lies else ["in the substrate or the air: not told"]
    return f"{probe.name}: {', '.join([*where, *([probe.note] if probe.note else [])])}"


def batch_words(batch: Batch, zone: ZoneInfo) -> str:
    """`p1: 120 readings, 2026-06-13 07:00 to 2026-06-18 06:00, logger.csv`."""
    span = _span(batch.start, batch.end, zone)
    return f"{batch.probe}: {batch.count} readings, {span}, {batch.file or 'by hand'}"


def log_lines(new: int, log: Log, zone: ZoneInfo) -> tuple[str, ...]:
    """What was taken in from a file, how it was read, and what was left out."""
    left_out = (f"Left out: {line}." for line in log.left_out)
    span = _span(log.first, log.last, zone)
    return (f"{new} new readings, {span}.", f"Read as: {'; '.join(log.how)}.", *left_out)


def check_words(check: Check, zone: ZoneInfo) -> str:
    """`2026-06-22 08:00 egg 3: developing (veins)`."""
    of = f"egg {check.position}" if check.position else "the box"
    return f"{day_clock(check.at, zone)} {of}: {check.saw}{f' ({check.note})' if check.note else ''}"


def weighing_words(weighing: Weighing, zone: ZoneInfo) -> str:
    """`2026-06-20 07:00 898 g, 7 g of water added`."""
    added = f", {weighing.added_g:g} g of water added" if weighing.added_g else ""
    return f"{day_clock(weighing.at, zone)} {weighing.total_g:g} g{added}"


def water_words(box: Container, weighed: Sequence[Weighing]) -> str | None:
    """How much water is missing; None where that is not known."""
    missing = water_missing(box, tuple(weighed))
    return None if missing is None else f"{missing:.0f} g of water are missing to its mass at the start."


def hatching_words(each: Hatching, zone: ZoneInfo) -> str:
    """`2026-08-12 egg 3 of 2026-06-12 dig 1: alive; E1; 6.1 g`."""
    parts = [f"{each.at.astimezone(zone):%Y-%m-%d} egg {each.position} of {each.of}: {each.outcome}"]
    parts += [each.name] if each.name else []
    parts += _size(each.mass_g, each.shell_mm)
    parts += [f"left {each.left_at.astimezone(zone):%Y-%m-%d}"] if each.left_at else []
    parts += [each.note] if each.note else []
    return "; ".join(parts)


def growth_words(each: Growth, zone: ZoneInfo) -> str:
    """`2026-08-19 6.4 g; 31 mm`."""
    parts = [*_size(each.mass_g, each.shell_mm), *([each.note] if each.note else [])]
    return f"{each.at.astimezone(zone):%Y-%m-%d} {'; '.join(parts)}"


def _size(mass_g: float | None, shell_mm: float | None) -> list[str]:
    return [*([f"{mass_g:g} g"] if mass_g else []), *([f"{shell_mm:g} mm"] if shell_mm else [])]


def _span(start: datetime, end: datetime, zone: ZoneInfo) -> str:
    return f"{day_clock(start, zone)} to {day_clock(end, zone)}"
