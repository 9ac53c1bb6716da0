"""Sunset of an evening and the sunrise after it, by ephem.

The convention is that of the almanacs: the sun's upper edge on a flat horizon, 34' of refraction (USNO,
"Rise, Set, and Twilight Definitions"; ephem's manual gives the settings that reproduce it).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import ephem

_REFRACTION = "-0:34"
_DAY = timedelta(days=1)


def sun_times(
    latitude: float, longitude: float, evening: date, timezone: str
) -> tuple[datetime | None, datetime | None]:
    """(sunset, sunrise) as aware UTC, both looked for in the 24 hours from noon of `evening` (local clock).

    Degrees, north and east positive. None where the sun does not set (or rise) in that time.
    """
    noon = datetime.combine(evening, time(12), ZoneInfo(timezone)).astimezone(UTC)
    observer = _observer(latitude, longitude)
    sunset = _within_a_day(observer, observer.next_setting, noon, noon)
    sunrise = _within_a_day(observer, observer.next_rising, sunset or noon, noon)
    return sunset, sunrise


def _observer(latitude: float, longitude: float) -> ephem.Observer:
    observer = ephem.Observer()
    observer.lat, observer.lon = math.radians(latitude), math.radians(longitude)
    observer.pressure = 0  # refraction is in the horizon instead, as the almanacs do it
    observer.horizon = _REFRACTION
    return observer


def _within_a_day(
    observer: ephem.Observer, event: Callable[..., ephem.Date], after: datetime, noon: datetime
) -> datetime | None:
    observer.date = after.replace(tzinfo=None)
    try:
        at = event(ephem.Sun()).datetime().replace(tzinfo=UTC)
    except (ephem.AlwaysUpError, ephem.NeverUpError):
        return None
    return at if at <= noon + _DAY else None
