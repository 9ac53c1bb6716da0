"""Attempts counted in groups, each beside what was seen of it. Pure."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, TypeVar

from nestwatch.season.tally.gather import monday
from nestwatch.season.tally.records import Attempt, By, Hatch, Row, Share, Weather
from nestwatch.season.tally.seen import ENOUGH_S, SeenNight
from nestwatch.shares import exact_interval
from nestwatch.site.records import Site, Units

STEP_C = 3
"""Width of a group of temperatures, degrees Celsius (our own choice)."""
WET_MM = 2.0
"""From so much rain in the nesting hours on a night is wet (our own choice)."""
RAINS = ("dry", "some rain", "wet")
OF_AN_HOUR_S = 1800.0
"""A night counts for an hour of the clock where so much of that hour was seen (our own choice)."""

Key = TypeVar("Key", bound=Hashable)
Of = Mapping[date, Weather | None]


@dataclass(frozen=True, slots=True)
class Measure:
    """Nights and seconds of nesting time that were seen of a group."""

    nights: int = 0
    seconds: float = 0.0

    def plus(self, parts: Sequence[float], enough_s: float) -> Measure:
        """With one more night; `parts`: seconds on each ground, of which one must come to `enough_s`."""
        return Measure(self.nights + (max(parts, default=0.0) >= enough_s), self.seconds + sum(parts))


def share_of(count: int, of: int) -> Share:
    """`count` of `of` with its exact interval."""
    return Share(count, of, *(exact_interval(count, of) or (None, None)))


def hatch_of(parts: Iterable[Hatch]) -> Hatch:
    """Several clutches in one: eggs are those that were counted, None where none of the clutches was."""
    found = list(parts)
    counted = [each.eggs for each in found if each.eggs is not None]
    names = ("alive", "dead_in_shell", "infertile", "lost", "pending")
    total = sum(counted) if counted or not found else None
    return Hatch(total, *(sum(getattr(each, name) for each in found) for name in names))


def row_of(name: str | None, attempts: Iterable[Attempt], measure: Measure | None) -> Row:
    """One row; `measure` None where the group has none. Digs set aside as false are left out."""
    found = [each for each in attempts if each.kind != "false"]
    counts = {kind: sum(each.kind == kind for each in found) for kind in ("nest", "trial", "open")}
    hatch = hatch_of(each.hatch for each in found if each.hatch is not None)
    return Row(
        name,
        len(found),
        counts["nest"],
        counts["trial"],
        counts["open"],
        hatch,
        share_of(hatch.alive, hatch.settled),
        None if measure is None else measure.nights,
        None if measure is None else measure.seconds / 3600,
        sum(each.seen for each in found),
    )


def total_of(attempts: Sequence[Attempt], seen: Sequence[SeenNight]) -> Row:
    """Everything in one row."""
    measure = _measured(seen, lambda night: ["all"], _of_night).get("all", Measure())
    return row_of("all", attempts, measure)


def groups_of(
    site: Site, attempts: Sequence[Attempt], seen: Sequence[SeenNight], weather: Of
) -> dict[By, tuple[Row, ...]]:
    """Rows by everything that attempts are counted by; no rows of weather where the keeper has none."""
    counted = [each for each in attempts if each.kind != "false"]
    told = any(each is not None for each in weather.values())
    return {
        "female": _females(counted),
        "pen": _pens(site, counted, seen),
        "zone": _zones(site, counted, seen),
        "hour": _hours(site, counted, seen),
        "week": _weeks(counted, seen),
        "temperature": _temperatures(site.units, counted, seen, weather) if told else (),
        "rain": _rains(counted, seen, weather) if told else (),
    }


def _rows(
    attempts: Sequence[Attempt],
    key_of: Callable[[Attempt], Key | None],
    measures: Mapping[Any, Measure],
    order: Iterable[Key],
    name_of: Callable[[Key], str] = str,
) -> tuple[Row, ...]:
    """Rows for every key that was met or seen: in `order`, then what is not in it; what is not known last."""
    groups: dict[Key | None, list[Attempt]] = {key: [] for key in measures}
    for each in attempts:
        groups.setdefault(key_of(each), []).append(each)
    keys = [key for key in dict.fromkeys((*order, *groups)) if key in groups and key is not None]
    rows = [row_of(name_of(key), groups[key], measures.get(key)) for key in keys]
    unknown = [row_of(None, groups[None], measures.get(None))] if None in groups else []
    return (*rows, *unknown)


def _measured(
    seen: Sequence[SeenNight],
    keys_of: Callable[[SeenNight], Iterable[Key]],
    parts_of: Callable[[SeenNight, Key], Sequence[float]],
    enough_s: float = ENOUGH_S,
) -> dict[Key, Measure]:
    found: dict[Key, Measure] = {}
    for night in seen:
        for key in dict.fromkeys(keys_of(night)):
            found[key] = found.get(key, Measure()).plus(parts_of(night, key), enough_s)
    return found


def _of_night(night: SeenNight, _: object) -> list[float]:
    return [eye.usable_s for eye in night.best()]


def _females(attempts: Sequence[Attempt]) -> tuple[Row, ...]:
    names = sorted({each.female for each in attempts if each.female}, key=str.casefold)
    return _rows(attempts, lambda each: each.female, {}, names)


def _pens(site: Site, attempts: Sequence[Attempt], seen: Sequence[SeenNight]) -> tuple[Row, ...]:
    measures = _measured(
        seen,
        lambda night: [eye.pen for eye in night.eyes],
        lambda night, pen: [eye.usable_s for eye in night.best() if eye.pen == pen],
    )
    return _rows(attempts, lambda each: each.pen, measures, [pen.name for pen in site.pens])


def _zones(site: Site, attempts: Sequence[Attempt], seen: Sequence[SeenNight]) -> tuple[Row, ...]:
    def parts(night: SeenNight, zone: str) -> list[float]:
        return [eye.usable_s for eye in night.best(lambda eye: zone in eye.zones)]

    order = [zone.name for camera in site.cameras for zone in camera.zones_of("nesting")]
    measures = _measured(seen, lambda night: [zone for eye in night.eyes for zone in eye.zones], parts)
    return _rows(attempts, lambda each: each.zone, measures, order)


def _hours(site: Site, attempts: Sequence[Attempt], seen: Sequence[SeenNight]) -> tuple[Row, ...]:
    """By the hour of the site's clock; without a measure where the record does not tell when gaps were."""

    def parts(night: SeenNight, hour: int) -> list[float]:
        return [(eye.by_hour or {}).get(hour, 0.0) for eye in night.best()]

    told = all(eye.by_hour is not None for night in seen for eye in night.eyes)
    measures = _measured(seen, _clock_hours, parts, OF_AN_HOUR_S) if told else {}
    order = [(site.night[0].hour + k) % 24 for k in range(24)]
    return _rows(attempts, lambda each: each.hour, measures, order, lambda hour: f"{hour:02d}:00")


def _clock_hours(night: SeenNight) -> list[int]:
    return sorted({hour for eye in night.eyes for hour in eye.by_hour or ()})


def _weeks(attempts: Sequence[Attempt], seen: Sequence[SeenNight]) -> tuple[Row, ...]:
    measures = _measured(seen, lambda night: [monday(night.date)], _of_night)
    weeks = sorted({*measures, *(each.week for each in attempts)})
    return _rows(attempts, lambda each: each.week, measures, weeks, date.isoformat)


def _temperatures(
    units: Units, attempts: Sequence[Attempt], seen: Sequence[SeenNight], weather: Of
) -> tuple[Row, ...]:
    measures = _measured(seen, lambda night: [_step(weather.get(night.date))], _of_night)
    steps = sorted(
        {step for step in (*measures, *(_step(each.weather) for each in attempts)) if step is not None}
    )
    return _rows(attempts, lambda each: _step(each.weather), measures, steps, lambda k: _degrees(k, units))


def _step(weather: Weather | None) -> int | None:
    """The lower end of the group of temperatures, degrees Celsius."""
    if weather is None or weather.celsius is None:
        return None
    return STEP_C * math.floor(weather.celsius / STEP_C)


def _degrees(low: int, units: Units) -> str:
    """`15 to 18 °C`, or the same in °F."""
    if units == "metric":
        return f"{low} to {low + STEP_C} °C"
    return f"{1.8 * low + 32:.4g} to {1.8 * (low + STEP_C) + 32:.4g} °F"


def _rains(attempts: Sequence[Attempt], seen: Sequence[SeenNight], weather: Of) -> tuple[Row, ...]:
    measures = _measured(seen, lambda night: [_rain(weather.get(night.date))], _of_night)
    return _rows(attempts, lambda each: _rain(each.weather), measures, RAINS)


def _rain(weather: Weather | None) -> str | None:
    if weather is None or weather.rain_mm is None:
        return None
    return RAINS[0] if weather.rain_mm <= 0 else RAINS[1] if weather.rain_mm < WET_MM else RAINS[2]
