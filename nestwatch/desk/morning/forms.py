"""JSON from the page as values for the record; what has not the right form is refused in one line. Pure."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, cast
from zoneinfo import ZoneInfo

from nestwatch.errors import PageError
from nestwatch.season.by_hand import HandDig
from nestwatch.season.clutches import ClutchChanges
from nestwatch.season.eggs import STATES
from nestwatch.season.records import FOUND, SOURCES, Found, Point, Source
from nestwatch.season.when import instant

LONGEST = 500
"""Letters of a text."""


@dataclass(frozen=True, slots=True)
class FindForm:
    """A find as the page sends it. `seen`: the version that was shown, 0 for none."""

    found: Found
    why: str | None
    seen: int


@dataclass(frozen=True, slots=True)
class ClutchForm:
    """A clutch as the page sends it. `new_female`: a name to be entered first, None for none."""

    changes: ClutchChanges
    new_female: str | None
    seen: int
    sure: bool


def read_find(data: object) -> FindForm:
    """`{found, why, seen}`. Raises `PageError`."""
    table = _table(data)
    if table.get("found") not in FOUND:
        raise PageError(f"a find is {', '.join(FOUND)}; load the page again.")
    return FindForm(cast(Found, table["found"]), a_text(table, "why"), _count(table, "seen"))


def read_clutch(data: object, zone: ZoneInfo, night: date) -> ClutchForm:
    """`{whole, dented, cracked, broken, female, new_female, laid, lifted, note, seen, sure}`.

    Times are typed; keys that were not sent stay as they are. Raises `PageError`, `EntryError`.
    """
    table = _table(data)
    changes: dict[str, Any] = {state: _eggs(table, state) for state in STATES if state in table}
    changes |= {name: a_text(table, name) for name in ("female", "note") if name in table}
    for name in ("laid", "lifted"):
        if name in table:
            text = a_text(table, name)
            changes[f"{name}_at"] = None if text is None else instant(text, zone, night)
    new = a_text(table, "new_female")
    if new is not None:
        changes["female"] = new
    return ClutchForm(cast(ClutchChanges, changes), new, _count(table, "seen"), table.get("sure") is True)


def read_dig(data: object, zone: ZoneInfo, night: date) -> tuple[HandDig, bool]:
    """`{source, from, to, camera, pixel, pen, plan, note, sure}` as a dig by hand, and whether it is sure.

    Times are typed, or seconds since 1970 from the slider. Raises `PageError`, `EntryError`.
    """
    table = _table(data)
    if table.get("source") not in SOURCES or table["source"] == "scan":
        raise PageError("a dig by hand is from footage, by eye or found; load the page again.")
    told = HandDig(
        source=cast(Source, table["source"]),
        start=_when(table, "from", zone, night),
        end=_when(table, "to", zone, night),
        camera=a_text(table, "camera"),
        pixel=_point(table, "pixel"),
        pen=a_text(table, "pen"),
        plan_m=_point(table, "plan"),
        note=a_text(table, "note"),
    )
    return told, table.get("sure") is True


def read_entry(data: object) -> int:
    """`{entry}`: the number of the action to take back. Raises `PageError`."""
    return _count(_table(data), "entry")


def _table(data: object) -> Mapping[str, Any]:
    if not isinstance(data, dict):
        raise PageError("what was sent is not readable; load the page again.")
    return data


def a_text(table: Mapping[str, Any], name: str) -> str | None:
    """A text without its outer spaces; None where it is empty or missing."""
    value = table.get(name)
    if value is None:
        return None
    if not isinstance(value, str) or not value.replace("\n", " ").replace("\t", " ").isprintable():
        raise PageError(f'"{name}" is not readable; load the page again.')
    if len(value) > LONGEST:
        raise PageError(f'"{name}" has {len(value)} letters; write at most {LONGEST}.')
    return value.strip() or None


def _count(table: Mapping[str, Any], name: str) -> int:
    value = table.get(name)
    if not isinstance(value, int) or isinstance(value, bool) or not 0 <= value < 2**53:
        raise PageError(f'"{name}" is not readable; load the page again.')
    return value


def _eggs(table: Mapping[str, Any], name: str) -> int | None:
    """A whole number as sent; whether so many eggs can be is for the record."""
    value = table[name]
    if value is None:
        return None
    if not isinstance(value, int) or isinstance(value, bool) or abs(value) >= 2**53:
        raise PageError(f"the number of {name} eggs is no whole number; correct it.")
    return value


def _when(table: Mapping[str, Any], name: str, zone: ZoneInfo, night: date) -> datetime:
    text = a_text(table, name)
    if text is None:
        raise PageError("a dig needs the times at which it began and ended.")
    return instant(text, zone, night)


def _point(table: Mapping[str, Any], name: str) -> Point | None:
    value = table.get(name)
    if value is None:
        return None
    if not isinstance(value, list) or len(value) != 2 or not all(map(_is_number, value)):
        raise PageError(f'"{name}" is no place; write two numbers, or point again.')
    return (round(float(value[0]), 3), round(float(value[1]), 3))


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
