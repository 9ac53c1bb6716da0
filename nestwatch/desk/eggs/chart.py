"""A box's temperatures over time as numbers for a drawing that is `WIDE` by `HIGH` units. Pure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from nestwatch.season.incubation.course import MAX_GAP
from nestwatch.season.incubation.profile import Profile
from nestwatch.season.incubation.records import Floats, Series
from nestwatch.season.incubation.sources import Span
from nestwatch.season.tally.page.days import short_day
from nestwatch.season.telling import day_clock

WIDE, HIGH = 1000.0, 400.0
_MOST_COLUMNS = 300  # each holds its lowest and highest reading, so that no peak is lost
_MOST_TICKS = 6
_DAYS = (1, 2, 5, 7, 14, 28, 56)
_DEGREES = (1, 2, 5, 10, 20, 50, 200)
_MOST_GAPS = 6
_THINNEST = 3.0
Named = Sequence[tuple[str, Series]]


@dataclass(frozen=True, slots=True)
class Line:
    """One probe: `paths` are stretches of "x,y x,y ..." without a gap; `kind` 0, 1, ... tells its pattern."""

    name: str
    kind: int
    paths: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True)
class Chart:
    """`aim`: (top, height) of the temperatures aimed at; `alarms`: heights of those beyond which an alert is
    due. `gaps`: (left, width) where no probe was read, `gap_lines` in words. Ticks: (per cent, label)."""

    lines: tuple[Line, ...]
    aim: tuple[float, float] | None
    aim_words: str
    alarms: tuple[float, ...]
    gaps: tuple[tuple[float, float], ...]
    gap_lines: tuple[str, ...]
    days: tuple[tuple[float, str], ...]
    degrees: tuple[tuple[float, str], ...]


@dataclass(frozen=True, slots=True)
class _Frame:
    start: float
    end: float
    low: float
    high: float

    def x(self, seconds: float) -> float:
        return round(WIDE * (seconds - self.start) / (self.end - self.start), 1)

    def y(self, celsius: float) -> float:
        return round(HIGH * (self.high - celsius) / (self.high - self.low), 1)


def make_chart(
    readings: Named, profile: Profile, start: datetime, end: datetime, zone: ZoneInfo
) -> Chart | None:
    """The readings from `start` to `end` (aware); None where there are none."""
    inside = [(name, series.between(start, end)) for name, series in readings]
    read = [(name, series) for name, series in inside if len(series.seconds)]
    if not read:
        return None
    frame = _frame(read, profile, start, end)
    empty = _gaps([series for _, series in read], frame)
    return Chart(
        tuple(_line(n, name, series, frame, zone) for n, (name, series) in enumerate(read)),
        _aim(profile.aim_c, frame),
        "" if profile.aim_c is None else f"{profile.aim_c.words('°C')} {profile.aim_c.credit}",
        _alarms(profile.alarm_c, frame),
        tuple((frame.x(a), max(frame.x(b) - frame.x(a), _THINNEST)) for a, b in empty),
        _gap_lines(empty, zone),
        _day_ticks(start, end, zone),
        _degree_ticks(frame),
    )


def _frame(read: Named, profile: Profile, start: datetime, end: datetime) -> _Frame:
    values = [value for _, series in read for value in (series.celsius.min(), series.celsius.max())]
    values += [] if profile.aim_c is None else [profile.aim_c.low, profile.aim_c.high]
    last = max(end.timestamp(), start.timestamp() + 60)
    return _Frame(start.timestamp(), last, math.floor(min(values) - 0.5), math.ceil(max(values) + 0.5))


def _line(kind: int, name: str, series: Series, frame: _Frame, zone: ZoneInfo) -> Line:
    breaks = np.flatnonzero(np.diff(series.seconds) > MAX_GAP.total_seconds()) + 1
    stretches = zip(np.split(series.seconds, breaks), np.split(series.celsius, breaks), strict=True)
    at = day_clock(series.last or datetime.fromtimestamp(frame.end, zone), zone)
    low, high = float(series.celsius.min()), float(series.celsius.max())
    words = f"{series.celsius[-1]:.1f} °C at {at}; lowest {low:.1f}, highest {high:.1f} °C"
    return Line(name, kind, tuple(_path(*each, frame) for each in stretches), words)


def _path(seconds: Floats, celsius: Floats, frame: _Frame) -> str:
    """A stretch's points, of each column its lowest and highest in the order of time."""
    column = np.floor(_MOST_COLUMNS * (seconds - frame.start) / (frame.end - frame.start))
    keep: list[int] = []
    for part in np.split(np.arange(len(seconds)), np.flatnonzero(np.diff(column)) + 1):
        ends = {int(part[0]), int(part[-1])}
        peaks = {int(part[np.argmin(celsius[part])]), int(part[np.argmax(celsius[part])])}
        keep += sorted(ends | peaks)
    points = [f"{frame.x(seconds[k])},{frame.y(celsius[k])}" for k in keep]
    if len(points) == 1:  # a single reading would not be drawn
        points.append(f"{frame.x(seconds[0]) + _THINNEST},{frame.y(celsius[0])}")
    return " ".join(points)


def _gaps(read: Sequence[Series], frame: _Frame) -> list[tuple[float, float]]:
    """Stretches (seconds since 1970) over which no probe was read."""
    known = np.unique(np.concatenate([[frame.start, frame.end], *(series.seconds for series in read)]))
    long = np.flatnonzero(np.diff(known) > MAX_GAP.total_seconds())
    return [(float(known[k]), float(known[k + 1])) for k in long]


def _gap_lines(gaps: Sequence[tuple[float, float]], zone: ZoneInfo) -> tuple[str, ...]:
    longest = sorted(gaps, key=lambda gap: gap[0] - gap[1])[:_MOST_GAPS]
    lines = [_gap_words(*gap, zone) for gap in sorted(longest)]
    more = len(gaps) - len(longest)
    return (*lines, *([f"and {more} shorter"] if more else []))


def _gap_words(start: float, end: float, zone: ZoneInfo) -> str:
    first, last = (day_clock(datetime.fromtimestamp(at, zone), zone) for at in (start, end))
    hours = (end - start) / 3600
    return (
        f"{first} to {last} ({hours:.0f} h)" if hours < 72 else f"{first} to {last} ({hours / 24:.0f} days)"
    )


def _aim(aim: Span | None, frame: _Frame) -> tuple[float, float] | None:
    """Top and height of the band; a single temperature is a thin one."""
    if aim is None:
        return None
    return frame.y(aim.high), max(frame.y(aim.low) - frame.y(aim.high), _THINNEST)


def _alarms(alarm: Span | None, frame: _Frame) -> tuple[float, ...]:
    limits = () if alarm is None else (alarm.low, alarm.high)
    return tuple(frame.y(each) for each in limits if frame.low < each < frame.high)


def _day_ticks(start: datetime, end: datetime, zone: ZoneInfo) -> tuple[tuple[float, str], ...]:
    """Midnights, few enough to be read; of less than two days their ends."""
    whole = (end - start).total_seconds()
    if whole < 2 * 86400:
        return (0.0, day_clock(start, zone)), (100.0, day_clock(end, zone))
    step = next((days for days in _DAYS if whole / 86400 / days <= _MOST_TICKS), _DAYS[-1])
    first = start.astimezone(zone).replace(hour=0, minute=0, second=0, microsecond=0, fold=0)
    midnights = [first + timedelta(days=step * n) for n in range(1, int(whole / 86400 / step) + 2)]
    return tuple(
        (round(100 * (at - start).total_seconds() / whole, 2), short_day(at)) for at in midnights if at <= end
    )


def _degree_ticks(frame: _Frame) -> tuple[tuple[float, str], ...]:
    step = next((n for n in _DEGREES if (frame.high - frame.low) / n <= _MOST_TICKS), _DEGREES[-1])
    first = math.ceil(frame.low / step) * step
    values = [first + step * n for n in range(int((frame.high - first) / step) + 1)]
    return tuple((round(100 * frame.y(value) / HIGH, 2), f"{value} °C") for value in values)
