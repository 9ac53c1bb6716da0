"""Spans of time as numbers for a bar that is `WIDE` units wide. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

WIDE = 1000.0
_THINNEST = 2.0  # units: about a pixel on a phone, so that nothing vanishes
_MOST_TICKS = 8


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of a bar: what it is, its left edge and width in units, and its clock times."""

    name: str
    left: float
    width: float
    span: str


@dataclass(frozen=True, slots=True)
class Bar:
    """A stretch of time laid onto a bar: its parts, and (units, label) of the full hours below it."""

    parts: tuple[Part, ...]
    ticks: tuple[tuple[float, str], ...]


def make_bar(start: datetime, end: datetime, zone: ZoneInfo, parts: Iterable[tuple[str, str, str]]) -> Bar:
    """`start`..`end` (aware) as a bar; `parts` are (name, from, to) in ISO 8601, cut at its ends."""
    whole = max((end - start).total_seconds(), 1.0)

    def units(at: datetime) -> float:
        return WIDE * min(max((at - start).total_seconds() / whole, 0.0), 1.0)

    return Bar(
        tuple(_part(name, _read(first), _read(last), units, zone) for name, first, last in parts),
        tuple((round(units(at), 1), f"{at.astimezone(zone):%H:%M}") for at in _ticks(start, end, zone)),
    )


def _read(text: str) -> datetime:
    return datetime.fromisoformat(text)


def _part(name: str, start: datetime, end: datetime, units: object, zone: ZoneInfo) -> Part:
    assert callable(units)
    left, right = units(start), units(end)
    span = f"{start.astimezone(zone):%H:%M}–{end.astimezone(zone):%H:%M}"
    return Part(name, round(min(left, WIDE - _THINNEST), 1), round(max(right - left, _THINNEST), 1), span)


def _ticks(start: datetime, end: datetime, zone: ZoneInfo) -> list[datetime]:
    """Full hours (or half, or every third) inside, few enough to be read."""
    for minutes in (10, 30, 60, 180, 360):
        step = timedelta(minutes=minutes)
        first = start.astimezone(zone).replace(minute=0, second=0, microsecond=0).astimezone(start.tzinfo)
        count = int((end - first) / step) + 1
        inside = [at for n in range(count) if start <= (at := first + n * step) <= end]
        if len(inside) <= _MOST_TICKS:
            return inside
    return inside
