"""When a night is: from the site's wall-clock times to instants, through clock changes, and with the sun."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from nestwatch.site.records import NightHours, Site
from nestwatch.site.sun import sun_times

_DAY = timedelta(days=1)

Walls = tuple[datetime, datetime]
"""Two wall-clock times (naive), a beginning and an end."""


def night_hours(site: Site, night: date) -> NightHours:
    """The night that began on the evening of `night`, as instants.

    A wall time that the clocks show twice, or skip, is taken so that the night is the longest it can mean.
    """
    bounds = night_walls(site.night, night)
    nesting = bounds
    if site.animal.nesting_hours is not None:
        nesting = nesting_walls(site.animal.nesting_hours, bounds) or bounds
    zone = ZoneInfo(site.timezone)
    sunset, sunrise = sun_times(site.latitude, site.longitude, night, site.timezone)
    start, end = _instants(bounds, zone)
    return NightHours(night, start, end, _instants(nesting, zone), sunset, sunrise)


def last_night(site: Site, now: datetime) -> date:
    """The night that ended last before `now` (aware); one that ends at this very instant counts."""
    zone = ZoneInfo(site.timezone)
    night = now.astimezone(zone).date()
    while _instants(night_walls(site.night, night), zone)[1] > now:
        night -= _DAY
    return night


def night_walls(night: tuple[time, time], evening: date) -> Walls:
    """The night's wall times: it ends the next morning unless its end is later in the day than its start."""
    start = datetime.combine(evening, night[0])
    end = datetime.combine(evening, night[1])
    return start, end if end > start else end + _DAY


def nesting_walls(hours: tuple[time, time], night: Walls) -> Walls | None:
    """The part of a night in which digs are expected; None where nesting hours and night do not meet."""
    spans = [night_walls(hours, night[0].date() + days * _DAY) for days in (-1, 0, 1)]
    shared = [(max(start, night[0]), min(end, night[1])) for start, end in spans]
    longest = max(shared, key=lambda span: span[1] - span[0])
    return longest if longest[1] > longest[0] else None


def _instants(walls: Walls, zone: ZoneInfo) -> tuple[datetime, datetime]:
    return min(_both(walls[0], zone)), max(_both(walls[1], zone))


def _both(wall: datetime, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """The instants a wall time may mean: the same twice, but for an hour repeated or skipped."""
    first, second = (wall.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    return first, second
