"""Dates and clock times as loggers write them, and which part of a date is the day."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from nestwatch.errors import EntryError
from nestwatch.season.incubation.logger.records import Order, Stamp

_DATE = r"(\d{1,4})[-/.](\d{1,2})[-/.](\d{1,4})"
_CLOCK = r"(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,]\d+)?)?\s*([AaPp]\.?[Mm]\.?)?\s*(Z|[+-]\d{2}:?\d{2})?"
_BOTH = re.compile(rf"{_DATE}[T ,]*\s*{_CLOCK}")
IS_DATE = re.compile(_DATE)
IS_CLOCK = re.compile(_CLOCK)
_PLACES: dict[Order, tuple[int, int, int]] = {
    "year-first": (0, 1, 2),
    "day-first": (2, 1, 0),
    "month-first": (2, 0, 1),
}
"""Where year, month and day stand."""
_WORDS = {
    "day-first": "the day before the month",
    "month-first": "the month before the day",
    "year-first": "the year first",
}
_OLDEST = 2000
_STEADY = timedelta(days=3)
_JUMP = timedelta(days=20)


def stamp(text: str) -> Stamp | None:
    """A date with its time, None where the text is none."""
    found = _BOTH.fullmatch(text.strip())
    if found is None:
        return None
    first, second, third, hour, minute, second_of, half, offset = found.groups()
    year_at = 0 if len(first) == 4 else 2 if len(third) == 4 else None
    if len(first) == 3 or len(third) == 3:
        return None
    clock = (_hour(int(hour), half), int(minute), int(second_of or 0))
    return Stamp((int(first), int(second), int(third)), year_at, clock, _offset(offset))


def _hour(hour: int, half: str | None) -> int:
    """Of twelve-hour clocks: 12 AM is midnight."""
    if half is None:
        return hour
    return hour % 12 + (12 if half[0] in "Pp" else 0)


def _offset(text: str | None) -> int | None:
    if text is None or text == "Z":
        return None if text is None else 0
    hours, minutes = int(text[1:3]), int(text[-2:])
    return (-1 if text[0] == "-" else 1) * (3600 * hours + 60 * minutes)


def wall(told: Stamp, order: Order) -> datetime | None:
    """The wall time by an order of the parts; None where there is no such day or time."""
    year, month, day = (told.parts[place] for place in _PLACES[order])
    try:
        return datetime(year + (2000 if year < 100 else 0), month, day, *told.clock)  # noqa: DTZ001
    except ValueError:
        return None


def decide_order(stamps: Sequence[Stamp], now: datetime, chosen: Order | None) -> tuple[Order, str]:
    """The order of the parts, and why. `now`: the site's wall time.

    Orders that give days which do not exist, lie in the future or before 2000 are out; then those by which
    readings jump by weeks where another order has them follow each other. Raises `EntryError` for what is
    left over, naming the option.
    """
    possible = {order: walls for order in _orders(stamps) if (walls := _walls(stamps, order, now))}
    if chosen is not None:
        if chosen not in possible:
            raise EntryError(f"the dates cannot be read with {_WORDS[chosen]}; try another --order.")
        return chosen, f"{_WORDS[chosen]}, as you said"
    if not possible:
        raise EntryError(
            "the dates make no sense in any order, or lie in the future; check the logger's clock."
        )
    if len({tuple(walls) for walls in possible.values()}) == 1:
        order = next(iter(possible))
        return order, f"{_WORDS[order]}; no other way fits"
    steady = [order for order, walls in possible.items() if _largest(walls) <= _STEADY]
    jumping = [order for order, walls in possible.items() if _largest(walls) >= _JUMP]
    if len(steady) == 1 and len(jumping) == len(possible) - 1:
        return steady[0], f"{_WORDS[steady[0]]}; else readings would jump by weeks"
    raise EntryError(_ask(possible))


def _orders(stamps: Sequence[Stamp]) -> list[Order]:
    years = {told.year_at for told in stamps}
    if years == {0}:
        return ["year-first"]
    return ["day-first", "month-first"] if years == {2} else ["day-first", "month-first", "year-first"]


def _walls(stamps: Sequence[Stamp], order: Order, now: datetime) -> list[datetime] | None:
    walls = [wall(told, order) for told in stamps]
    latest = now + timedelta(days=1)  # the logger may stand in another zone
    good = [each for each in walls if each is not None and each.year >= _OLDEST and each <= latest]
    return good if len(good) == len(walls) else None


def _largest(walls: Sequence[datetime]) -> timedelta:
    return max((abs(b - a) for a, b in pairwise(walls)), default=timedelta(0))


def _ask(possible: dict[Order, list[datetime]]) -> str:
    told = " or ".join(f"{walls[0]:%d %B %Y} (--order {order})" for order, walls in possible.items())
    return f"the first reading may be of {told}; say which with --order."
