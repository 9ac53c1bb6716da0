"""For each box and clutch: windows, what equals its temperatures, sex, and what wants doing now."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from nestwatch.errors import EntryError
from nestwatch.season.clutches import clutches
from nestwatch.season.incubation.alerts import (
    Alert,
    reading_alerts,
    urgent_first,
    water_alerts,
    window_alerts,
    yolk_alerts,
)
from nestwatch.season.incubation.checks import weighings
from nestwatch.season.incubation.containers import containers
from nestwatch.season.incubation.course import MAX_GAP, Course, follow
from nestwatch.season.incubation.development import equivalent_of_readings
from nestwatch.season.incubation.eggs import eggs
from nestwatch.season.incubation.hatchings import hatchings
from nestwatch.season.incubation.probes import probes_for
from nestwatch.season.incubation.profile import Profile, profile_called
from nestwatch.season.incubation.readings import series_of
from nestwatch.season.incubation.records import Container, Egg, Series
from nestwatch.season.incubation.sex import THIRD, sex_words
from nestwatch.season.incubation.window import Window, by_profile, by_readings, joined
from nestwatch.season.open import Record
from nestwatch.season.records import Clutch

if TYPE_CHECKING:
    from nestwatch.site.records import Site

COVERED = 0.8
"""Sex is spoken of only where readings cover so much of the middle third of development."""
Readings = Sequence[tuple[str, Series]]


@dataclass(frozen=True, slots=True)
class Expected:
    """The eggs of one clutch in one box.

    `window`: the one to go by, None where nothing is known; `by_profile`, `by_readings`: each alone.
    `remarks`: sentences beside the window's own reasons. `left`: eggs not settled.
    """

    container: Container
    clutch: Clutch
    eggs: tuple[Egg, ...]
    profile: Profile
    window: Window | None
    by_profile: Window | None
    by_readings: Window | None
    sex: str
    remarks: tuple[str, ...]

    @property
    def left(self) -> int:
        """Eggs of which nothing became yet."""
        return sum(egg.outcome is None for egg in self.eggs)

    @property
    def of(self) -> str:
        """`2026-06-12 dig 1`."""
        return f"{self.clutch.night} dig {self.clutch.label}"


def expectations(record: Record, site: Site) -> tuple[Expected, ...]:
    """Every clutch in every box, by box and night. Raises `EntryError` for a profile file that is wrong."""
    by_id = {each.id: each for each in clutches(record)}
    everything = eggs(record)
    found = []
    for box in containers(record):
        readings = tuple((probe.name, series_of(record, probe)) for probe in probes_for(record, box))
        profile = profile_called(site, box.profile)
        for number in dict.fromkeys(egg.clutch for egg in everything if egg.container == box.id):
            inside = tuple(egg for egg in everything if (egg.container, egg.clutch) == (box.id, number))
            found.append(_expected(record, box, by_id[number], inside, profile, readings))
    return tuple(found)


def alerts(record: Record, site: Site, known: Sequence[Expected] | None = None) -> tuple[Alert, ...]:
    """What wants doing now in all boxes, the most urgent first. `known`: the `expectations`, where they were
    worked out already."""
    now, zone = record.clock(), record.zone
    waiting = [each for each in (expectations(record, site) if known is None else known) if each.left]
    found: list[Alert] = list(yolk_alerts(hatchings(record), now, zone))
    for each in waiting:
        today = now.astimezone(zone).date()
        found += window_alerts(each.container.label, each.of, each.window, each.left, today)
    for box in {each.container.id: each for each in waiting}.values():
        readings = [(p.name, series_of(record, p)) for p in probes_for(record, box.container)]
        found += reading_alerts(box.container.label, box.profile, readings, now, zone)
        found += water_alerts(box.container, weighings(record, box.container), now)
    return urgent_first(found)


def _expected(
    record: Record,
    box: Container,
    clutch: Clutch,
    inside: tuple[Egg, ...],
    profile: Profile,
    readings: Readings,
) -> Expected:
    laid, zone = clutch.laid_at, record.zone
    until = max(record.clock(), laid + timedelta(minutes=1))
    since = min(egg.put_at for egg in inside)
    kept = [(name, series.between(since, until)) for name, series in readings]
    told = [(name, series) for name, series in kept if len(series.seconds)]
    means: list[float | None] = [float(series.celsius.mean()) for _, series in told]
    by_days = joined([w for mean in means or [None] if (w := by_profile(profile, laid, zone, mean))])
    courses = _courses(profile, told, laid, until)
    by_course = joined(_windows(profile, courses, zone))
    window, remarks = _settled(by_days, by_course)
    sex = _sex(profile, _middle_thirds(profile, courses, told) or _middle_days(laid, by_days, told))
    return Expected(
        box, clutch, inside, profile, window, by_days, by_course, sex, (*remarks, *_why_not(profile, told))
    )


def _courses(profile: Profile, told: Readings, laid: datetime, until: datetime) -> list[Course]:
    if profile.model is None:
        return []
    aim = None if profile.aim_c is None else (profile.aim_c.low, profile.aim_c.high)
    return [follow(series, profile.model, laid, until, aim) for _, series in told]


def _windows(profile: Profile, courses: Sequence[Course], zone: ZoneInfo) -> list[Window]:
    model = profile.model
    return [] if model is None else [by_readings(each, model, profile.model_source, zone) for each in courses]


def _settled(days: Window | None, course: Window | None) -> tuple[Window | None, list[str]]:
    """The window to go by: that of readings, with the profile's end where its own cannot be told."""
    if course is None or days is None:
        return course or days, []
    if course.last is None and days.last is not None:
        why = "Its end is the profile's: at these temperatures the model sees none."
        last = max(days.last, course.first)
        return replace(course, last=last, widened=(*course.widened, why)), []
    apart = course.last is not None and days.last is not None
    if apart and (course.first > days.last or course.last < days.first):  # type: ignore[operator]
        return course, [f"The profile's days say otherwise ({days.words()}): check readings and profile."]
    return course, []


def _why_not(profile: Profile, told: Readings) -> Iterator[str]:
    if not told:
        yield "No readings: the window rests on the profile's days alone."
    elif profile.model is None:
        yield f"The profile of {profile.name} has no development model, so readings move no window."


def _sex(profile: Profile, celsius: Sequence[float]) -> str:
    """Words on sex, or why nothing is said."""
    try:
        return sex_words(profile, celsius)
    except EntryError as error:
        return f"{str(error)[0].upper()}{str(error)[1:]}"


def _middle_thirds(profile: Profile, courses: Sequence[Course], told: Readings) -> list[float]:
    """Constant-temperature equivalents of the middle third of development, where it is over and was read."""
    found: list[float] = []
    if profile.model is None:
        return found
    for course, (_, series) in zip(courses, told, strict=True):
        middle = (course.low + course.high) / 2
        if middle[-1] < THIRD[1]:
            continue
        ends = [course.laid + timedelta(days=float(np.interp(share, middle, course.days))) for share in THIRD]
        inside = series.between(*ends)
        if _covered(inside, *ends):
            value = equivalent_of_readings(inside.celsius, np.gradient(inside.seconds), profile.model)
            found += [] if value is None else [value]
    return found


def _middle_days(laid: datetime, days: Window | None, told: Readings) -> list[float]:
    """Without a model: mean temperatures of the middle third of the days that the profile expects."""
    if days is None or days.last is None:
        return []
    half = ((days.first - laid.date()) + (days.last - laid.date())) / 2
    ends = [laid + half * share for share in THIRD]
    inside = [series.between(*ends) for _, series in told]
    return [float(each.celsius.mean()) for each in inside if _covered(each, *ends)]


def _covered(inside: Series, start: datetime, end: datetime) -> bool:
    """Whether readings cover most of a stretch."""
    if len(inside.seconds) < 2:
        return False
    edges = np.concatenate([[start.timestamp()], inside.seconds, [end.timestamp()]])
    steps = np.diff(edges)
    missing = float(steps[steps > MAX_GAP.total_seconds()].sum())
    return 1 - missing / (end - start).total_seconds() >= COVERED
