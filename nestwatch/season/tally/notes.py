"""What a reader of the season's numbers must know: what was left out, and what is only at least. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from nestwatch.season.tally.records import Attempt, Nights, Row, Weather
from nestwatch.season.tally.seen import SeenNight
from nestwatch.season.tally.weather import WeatherLog
from nestwatch.season.telling import plural
from nestwatch.site.records import Site

_RECALL = (
    "Only nests that you know of can be counted as found or missed: one that nobody found is in no number. "
    "Recall is the more to be trusted the more was searched besides the list."
)


def notes_of(
    site: Site,
    attempts: Sequence[Attempt],
    total: Row,
    nights: Nights,
    seen: Sequence[SeenNight],
    weather: Mapping[date, Weather | None],
    log: WeatherLog | None,
) -> tuple[str, ...]:
    """Sentences, the most important first."""
    return (
        *_of_nights(site, nights, attempts),
        *_of_eggs(attempts, total),
        *_of_places(site, attempts, seen),
        *_of_weather(weather, log),
        *([_RECALL] if any(each.scanned for each in attempts) else []),
    )


def _of_nights(site: Site, nights: Nights, attempts: Sequence[Attempt]) -> Iterator[str]:
    if site.animal.nesting_season is None:
        yield (
            "The site file names no nesting season (nesting_season in [animal]), so nights are counted from "
            "the first of the record to the last; those before and after may have had nests too."
        )
    if nights.unseen:
        yield (
            f"{plural(nights.unseen, 'night')} of the season {'was' if nights.unseen == 1 else 'were'} not "
            "seen: whether there was a nest is not known."
        )
    if nights.dark:
        yield f"{plural(nights.dark, 'scanned night')} had less than an hour of usable footage."
    outside = sum(each.kind != "false" and not each.seen for each in attempts)
    if outside:
        yield (
            f"{plural(outside, 'attempt')} {'lies' if outside == 1 else 'lie'} in nights in which no camera "
            "saw that pen: counted, but left out where attempts are divided by hours."
        )


def _of_eggs(attempts: Sequence[Attempt], total: Row) -> Iterator[str]:
    nests = [each for each in attempts if each.hatch is not None]
    uncounted = sum(each.hatch is not None and each.hatch.eggs is None for each in nests)
    if uncounted:
        yield f"{plural(uncounted, 'clutch', 'clutches')} not counted, so there are at least so many eggs."
    unboxed = sum(_unboxed(each) for each in nests)
    if unboxed:
        yield f"{plural(unboxed, 'egg')} counted but put into no box: what became of them is not on record."
    unknown = sum(each.female is None for each in nests)
    if unknown:
        yield f"{plural(unknown, 'nest')} of which the female is not known."


def _unboxed(nest: Attempt) -> int:
    hatch = nest.hatch
    if hatch is None or hatch.eggs is None:
        return 0
    return max(0, hatch.eggs - hatch.settled - hatch.pending)


def _of_places(site: Site, attempts: Sequence[Attempt], seen: Sequence[SeenNight]) -> Iterator[str]:
    real = [each for each in attempts if each.kind != "false"]
    penless = sum(each.pen is None for each in real)
    if penless:
        yield f"{plural(penless, 'dig')} {'lies' if penless == 1 else 'lie'} in no pen."
    unplaced = sum(each.kind == "nest" and (each.plan_m is None or each.pen is None) for each in real)
    if unplaced:
        yield f"{plural(unplaced, 'nest')} without a place on a plan, so not on the map."
    known = {camera.name for camera in site.cameras}
    gone = sorted({eye.camera for night in seen for eye in night.eyes} - known)
    if gone:
        yield f"Not in the site file any more, so counted without pen and zone: {', '.join(gone)}."


def _of_weather(weather: Mapping[date, Weather | None], log: WeatherLog | None) -> Iterator[str]:
    if log is None:
        return
    for what, field in (("temperature", "celsius"), ("rain", "rain_mm")):
        missing = sum(each is None or getattr(each, field) is None for each in weather.values())
        if missing:
            yield f"{plural(missing, 'night')} without {what}: rows are missing in the weather file."
    yield f"Weather read as: {'; '.join(log.how)}."
    yield from (f"Left out of the weather: {line}." for line in log.left_out)
