"""What was looked at: each counted night's nesting time, camera by camera.

Usable time is what was read and, where that was measured, clear enough to judge. Of cameras that look at one
pen the best one counts, so that an hour counts once; what only another camera read of that night is left out.
A camera without a pen stands for a ground of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from nestwatch.season.instants import read
from nestwatch.season.night_view import footage_between
from nestwatch.season.open import Record
from nestwatch.season.records import Footage
from nestwatch.season.watched import all_watched
from nestwatch.season.years import Dates, nesting_season, year_span
from nestwatch.site.hours import last_night, night_hours

if TYPE_CHECKING:
    from nestwatch.site.records import Camera, Site

ENOUGH_S = 3600.0
"""A night counts as seen where a camera has so much usable nesting time (our own choice)."""
_DAY = timedelta(days=1)

Instants = tuple[datetime, datetime]
Slot = tuple[int, float, float]
"""An hour of the site's clock, 0..23, and the stretch of nesting time in it, seconds since 1970."""


@dataclass(frozen=True, slots=True)
class Eye:
    """One camera in one night. Seconds are of nesting time; `by_hour`: the usable ones by the hour of the
    site's clock, None where the record does not tell when the camera had gaps."""

    camera: str
    pen: str | None
    zones: frozenset[str]
    expected_s: float
    usable_s: float
    by_hour: Mapping[int, float] | None

    @property
    def ground(self) -> tuple[str | None, str | None]:
        """What it looks at: the pen, or what only this camera sees."""
        return self.pen, None if self.pen is not None else self.camera


@dataclass(frozen=True, slots=True)
class SeenNight:
    """One night that is counted, with its cameras; without a scan each of the site's, with nothing read."""

    date: date
    nesting: Instants
    in_season: bool
    scanned: bool
    watched: bool
    eyes: tuple[Eye, ...]

    def best(self, fits: Callable[[Eye], bool] = lambda eye: True) -> tuple[Eye, ...]:
        """The best camera of each ground, of those that fit."""
        found: dict[tuple[str | None, str | None], Eye] = {}
        for eye in filter(fits, self.eyes):
            if eye.ground not in found or eye.usable_s > found[eye.ground].usable_s:
                found[eye.ground] = eye
        return tuple(found.values())

    @property
    def is_seen(self) -> bool:
        """Whether a camera has an hour of usable nesting time."""
        return self.is_seen_at(None)

    def is_seen_at(self, pen: str | None) -> bool:
        """The same of one pen; None for any."""
        return any(eye.usable_s >= ENOUGH_S and pen in {None, eye.pen} for eye in self.eyes)


def seen_nights(record: Record, site: Site, year: int, season: Dates) -> tuple[SeenNight, ...]:
    """The nights that count for a year: those of its `counted_season`, and every scanned one."""
    known = _known(record, year_span(site, year))
    watched = {each.night for each in all_watched(record)}
    footage = footage_between(record, *year_span(site, year))
    inside = set(_days(season)) if season[0] <= season[1] else set()
    scanned = {night for night, (_, is_scanned) in known.items() if is_scanned}
    return tuple(
        _night(site, night, known.get(night), night in inside, night in watched, footage.get(night, ()))
        for night in sorted(inside | scanned)
    )


def counted_season(record: Record, site: Site, year: int) -> Dates:
    """First and last night of the season that are counted: up to the night that ended last, or later where
    the record has one. The last lies before the first where the season has still to begin.

    Where the site file names no season it runs from the record's first night of the year to its last.
    """
    known = _known(record, year_span(site, year))
    season = nesting_season(site, year)
    if season is None:
        return min(known), max(known)
    ended = max([last_night(site, record.clock()), *(night for night in known if night <= season[1])])
    return season[0], min(season[1], ended)


def _known(record: Record, span: Dates) -> dict[date, tuple[Instants | None, bool]]:
    """By night of the record: its nesting hours, None where not kept, and whether it was scanned."""
    rows = record.rows(
        "SELECT date, scanned_at, nesting_from, nesting_to FROM night WHERE date BETWEEN ? AND ?",
        tuple(each.isoformat() for each in span),
    )
    return {
        date.fromisoformat(row["date"]): (
            (read(row["nesting_from"]), read(row["nesting_to"])) if row["nesting_from"] else None,
            row["scanned_at"] is not None,
        )
        for row in rows
    }


def _days(span: Dates) -> Iterator[date]:
    return (span[0] + k * _DAY for k in range((span[1] - span[0]).days + 1))


def _night(
    site: Site,
    night: date,
    known: tuple[Instants | None, bool] | None,
    in_season: bool,
    watched: bool,
    footage: Sequence[Footage],
) -> SeenNight:
    nesting, scanned = known or (None, False)
    nesting = nesting or night_hours(site, night).nesting
    slots = _slots(nesting, ZoneInfo(site.timezone))
    if scanned:
        eyes = tuple(_eye(site, each, nesting, slots) for each in footage)
    else:
        length = (nesting[1] - nesting[0]).total_seconds()
        eyes = tuple(_blind(site, camera, length) for camera in site.cameras)
    return SeenNight(night, nesting, in_season, scanned, watched, eyes)


def _slots(nesting: Instants, zone: ZoneInfo) -> list[Slot]:
    slots, at = [], nesting[0]
    while at < nesting[1]:
        local = at.astimezone(zone)
        end = min(nesting[1], at + timedelta(seconds=3600 - 60 * local.minute - local.second))
        slots.append((local.hour, at.timestamp(), end.timestamp()))
        at = end
    return slots


def _blind(site: Site, camera: Camera, expected_s: float) -> Eye:
    pen = site.pen_of(camera)
    zones = frozenset(zone.name for zone in camera.zones_of("nesting"))
    return Eye(camera.name, None if pen is None else pen.name, zones, expected_s, 0.0, {})


def _eye(site: Site, footage: Footage, nesting: Instants, slots: Sequence[Slot]) -> Eye:
    expected, usable = _seconds(footage, nesting)
    by_hour = _by_hour(footage, slots, usable)
    camera = next((each for each in site.cameras if each.name == footage.camera), None)
    if camera is None:
        return Eye(footage.camera, None, frozenset(), expected, usable, by_hour)
    return replace(_blind(site, camera, expected), usable_s=usable, by_hour=by_hour)


def _seconds(footage: Footage, nesting: Instants) -> tuple[float, float]:
    """Nesting time expected and usable, seconds; by the whole night's share where it was not told apart."""
    expected, was_read = footage.nesting_seconds_expected, footage.nesting_seconds_read
    if expected is None or was_read is None:
        expected = (nesting[1] - nesting[0]).total_seconds()
        whole = footage.seconds_expected
        was_read = expected * footage.seconds_read / whole if whole else 0.0
    looked = footage.looked_min
    return expected, was_read if looked is None else min(was_read, 60 * looked)


def _by_hour(footage: Footage, slots: Sequence[Slot], usable_s: float) -> dict[int, float] | None:
    """Usable seconds by hour: what lies outside of gaps; what was too dim is taken from all hours alike."""
    try:
        gaps = [(read(gap["from"]).timestamp(), read(gap["to"]).timestamp()) for gap in footage.gaps]
    except (KeyError, TypeError, ValueError):
        return None
    around = (footage.start.timestamp(), footage.end.timestamp())
    found: dict[int, float] = {}
    for hour, start, end in slots:
        here = max(start, around[0]), min(end, around[1])
        lost = sum(max(0.0, min(here[1], gap[1]) - max(here[0], gap[0])) for gap in gaps)
        found[hour] = found.get(hour, 0.0) + max(0.0, here[1] - here[0] - lost)
    whole = sum(found.values())
    return {hour: seconds * usable_s / whole for hour, seconds in found.items()} if whole else {}
