"""The camera's wall clock -> instants, through the nights on which the clocks change.

A clock that follows summer time shows one hour twice each autumn. Which of the two a file belongs to is
told by the order of the files: a recording that would start before the one in front of it has ended, or
whose stamp goes back, belongs to the second round. What that does not settle is taken as the first round
and flagged. The hour that is skipped in spring is read as if the clock had not been moved yet.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from nestwatch.errors import SiteError

JOIN = timedelta(seconds=5)  # recordings this close belong together
_NEW_ROW = timedelta(minutes=90)
_OVERLAP = timedelta(seconds=30)  # recorders repeat some seconds at a join; more is a second round


def zone_of(name: str) -> ZoneInfo:
    """The IANA time zone; `SiteError` where it is unknown."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise SiteError(f'time zone "{name}" is unknown: use a name such as "Europe/Paris".') from None


def clock_zone(clock: str, timezone_name: str) -> tzinfo:
    """The zone a camera's clock keeps: "local", "utc" or an offset such as "+02:00"; else `SiteError`."""
    if clock == "local":
        return zone_of(timezone_name)
    if clock == "utc":
        return UTC
    found = re.fullmatch(r"([+-])(\d{2}):(\d{2})", clock)
    if not found or int(found[2]) > 23 or int(found[3]) > 59:
        raise SiteError(f'clock "{clock}" is not "local", "utc" or an offset such as "+02:00".')
    offset = timedelta(hours=int(found[2]), minutes=int(found[3]))
    return timezone(offset if found[1] == "+" else -offset)


def both_rounds(wall: datetime, zone: tzinfo) -> tuple[datetime, datetime]:
    """The instants (UTC) a wall-clock time may mean; the same twice except in the repeated hour.

    An aware `wall` (its stamp held an offset) means what it says. In the skipped hour both offsets give a
    time that the clock never shows (no way back to `wall`): the offset before the change is taken, which
    is what a clock shows that has not been moved yet.
    """
    if wall.tzinfo is not None:
        instant = wall.astimezone(UTC)
        return instant, instant
    first = wall.replace(tzinfo=zone, fold=0).astimezone(UTC)
    second = wall.replace(tzinfo=zone, fold=1).astimezone(UTC)
    return (first, second) if second > first else (first, first)


@dataclass(frozen=True, slots=True)
class Placed:
    """A start settled: the instant (UTC) and whether it stayed ambiguous."""

    start: datetime
    ambiguous: bool


@dataclass(slots=True)
class _Rounds:
    """What the files so far say about the repeated hour: where each round's last recording ended."""

    first_end: datetime | None = None
    second_end: datetime | None = None
    latest: datetime | None = None  # latest start, read as the first round
    went_back: bool = False  # the stamps went back in file order: the second round has begun

    def choose(self, first: datetime, second: datetime) -> tuple[int, bool]:
        """(round, sure) of the next file in order."""
        if first == second or _near(first, self.first_end):
            return 1, True
        if self.latest is not None and first < self.latest:
            self.went_back = True
        if self.went_back or _near(second, self.second_end):
            return 2, True
        # One camera does not record twice at once.
        overlaps = self.first_end is not None and first < self.first_end - _OVERLAP
        return (2, True) if overlaps else (1, False)

    def starts_anew(self, first: datetime) -> bool:
        """True where a new row of files begins (another prefix): no clock is set so far back."""
        return self.latest is not None and first < self.latest - _NEW_ROW

    def add(self, first: datetime, end: datetime, round_: int) -> None:
        """Take note of a file placed in `round_` that ends at `end`."""
        if round_ == 1:
            self.first_end = max(end, self.first_end or end)
            self.latest = max(first, self.latest or first)
        else:
            self.second_end = max(end, self.second_end or end)


def _near(start: datetime, end: datetime | None) -> bool:
    return end is not None and abs(start - end) <= JOIN


def settle(starts: Sequence[tuple[datetime, datetime]], lengths: Sequence[float]) -> list[Placed]:
    """Choose between `both_rounds` of each file, in file order; `lengths` are the recordings' seconds.

    Returns one `Placed` per file. Hand-worked examples are in tests/footage/test_clocks.py.
    """
    rounds = _Rounds()
    placed: list[Placed] = []
    for (first, second), seconds in zip(starts, lengths, strict=True):
        if rounds.starts_anew(first):
            rounds = _Rounds()
        before = rounds.went_back
        round_, sure = rounds.choose(first, second)
        if rounds.went_back and not before:  # all that came before the step back was the first round
            placed = [replace(one, ambiguous=False) for one in placed]
        start = second if round_ == 2 else first
        placed.append(Placed(start, ambiguous=not sure))
        rounds.add(first, start + timedelta(seconds=seconds), round_)
    return placed
