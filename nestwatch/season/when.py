"""Times as keepers type them, in the site's own time: `22:10` of a night, or `2026-06-13 07:30`. Pure."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from nestwatch.errors import EntryError

_FORM = re.compile(r"(?:(\d{4}-\d{2}-\d{2})[ T])?(\d{1,2}:\d{2})(?::(\d{2}))?\s*(Z|[+-]\d{2}:\d{2})?")
_NOON = 12


def instant(text: str, zone: ZoneInfo, night: date | None = None) -> datetime:
    """An aware UTC instant from what was typed. Raises `EntryError`.

    A time without a date belongs to `night`: from noon on to its evening, before noon to the morning after.
    An hour that the clocks show twice must come with its offset (`02:30+02:00`); one they skip is refused.
    """
    found = _FORM.fullmatch(text.strip())
    if found is None:
        raise EntryError(f'"{text}" is no time; write 22:10, or with its day 2026-06-13 07:30.')
    day, clock, seconds, offset = found.groups()
    wall = _wall(text, clock, seconds, day or _day(text, clock, night))
    if offset is not None:
        return datetime.fromisoformat(f"{wall.isoformat()}{offset}").astimezone(UTC)
    return _placed(text, wall, zone)


def _day(text: str, clock: str, night: date | None) -> str:
    if night is None:
        raise EntryError(f'"{text}" needs its day, such as 2026-06-13 {clock}.')
    evening = int(clock.split(":")[0]) >= _NOON
    return (night if evening else night + timedelta(days=1)).isoformat()


def _wall(text: str, clock: str, seconds: str | None, day: str) -> datetime:
    try:
        return datetime.fromisoformat(f"{day}T{clock:0>5}:{seconds or '00'}")
    except ValueError:
        raise EntryError(f'"{text}" is no time that exists; write 22:10, or 2026-06-13 07:30.') from None


def _placed(text: str, wall: datetime, zone: ZoneInfo) -> datetime:
    """The one instant at which the site's clocks show `wall`."""
    both = [wall.replace(tzinfo=zone, fold=fold) for fold in (0, 1)]
    instants = [each.astimezone(UTC) for each in both]
    if instants[0] == instants[1]:
        return instants[0]
    if instants[0] > instants[1]:
        raise EntryError(f'"{text}" was skipped when the clocks went forward; give the time after it.')
    first, second = (f"{each:%z}" for each in both)
    raise EntryError(
        f'"{text}" came twice when the clocks went back; add {_offset(first)} for the first or '
        f"{_offset(second)} for the second time."
    )


def _offset(text: str) -> str:
    return f"{text[:3]}:{text[3:]}"
