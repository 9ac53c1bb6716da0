"""A night file's content as values for the record's tables. Pure."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from nestwatch.season.instants import read, written
from nestwatch.season.matching import Seen

Entry = Mapping[str, Any]
Values = dict[str, str | int | float | None]


def night_values(document: Entry, folder: str, stamp: str | None, scanned_at: datetime) -> Values:
    """Values of the `night` table. `folder`: the night's, as it is kept; `stamp`: of the night file,
    None where it cannot be told."""
    nesting = document.get("nesting_hours") or {}
    return {
        "date": document["night"],
        "starts_at": _instant(document["from"]),
        "ends_at": _instant(document["to"]),
        "scanned_at": written(scanned_at),
        "program": document["version"],
        "folder": folder,
        "stamp": stamp,
        "nesting_from": _instant(nesting.get("from")),
        "nesting_to": _instant(nesting.get("to")),
        **{name: as_json(document.get(name, [])) for name in ("raids", "clocks", "not_seen")},
    }


def footage_values(entry: Entry, document: Entry) -> Values:
    """Values of the `footage` table for one camera's entry."""
    plain = ("nesting_seconds_expected", "nesting_seconds_read", "looked_min")
    lists = ("gaps", "health", "unreadable", "notes")
    zone_seen = entry.get("zone_seen")
    return {
        "camera": entry["camera"],
        "starts_at": _instant(entry.get("from", document["from"])),
        "ends_at": _instant(entry.get("to", document["to"])),
        "seconds_expected": float(entry.get("seconds_expected", 0.0)),
        "seconds_read": float(entry.get("seconds_read", 0.0)),
        **{name: _number(entry.get(name)) for name in plain},
        "zone_seen": None if zone_seen is None else as_json(zone_seen),
        **{name: as_json(entry.get(name, [])) for name in lists},
    }


def dig_values(dig: Entry, pen: str | None) -> Values:
    """Values of the `dig` table for one dig of the night file. `pen`: the one its camera looks at."""
    pixel, plan = _point(dig["pixel"]), _point(dig["plan_m"])
    return {
        "listed": 1,
        "rank": dig["rank"],
        "camera": dig["camera"],
        "cameras": as_json(dig.get("cameras", [dig["camera"]])),
        "zone": dig["zone"],
        "pen": pen,
        "starts_at": _instant(dig["from"]),
        "ends_at": _instant(dig["to"]),
        "call": dig["call"],
        "likelihood": float(dig["likelihood"]),
        "likelihood_as_built": _number(dig.get("likelihood_as_built")),
        "in_nesting_hours": _flag(dig.get("in_nesting_hours")),
        "pixel_x": pixel[0],
        "pixel_y": pixel[1],
        "within_px": _number(dig.get("within_px")),
        "plan_x": plan[0],
        "plan_y": plan[1],
        "within_m": _number(dig["within_m"]),
        "shell_length_cm": _number(dig.get("shell_length_cm")),
        **{name: as_json(dig.get(name, [])) for name in ("reasons", "stages", "tape")},
        "pictures": as_json(dig["pictures"]),
        "clip": dig.get("clip"),
    }


def seen_of(values: Mapping[str, Any]) -> Seen:
    """When and where a dig was, from a row (or values) of the `dig` table."""
    return Seen(
        read(str(values["starts_at"])),
        read(str(values["ends_at"])),
        values["pen"],
        point_of(values["plan_x"], values["plan_y"]),
        values["within_m"],
        values["camera"],
        point_of(values["pixel_x"], values["pixel_y"]),
        values["within_px"],
    )


def point_of(x: float | None, y: float | None) -> tuple[float, float] | None:
    """A place from two columns, None where either is unknown."""
    return None if x is None or y is None else (x, y)


def as_json(value: Any) -> str:
    """Compact JSON text."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def _instant(text: str | None) -> str | None:
    return None if text is None else written(datetime.fromisoformat(text))


def _point(value: Any) -> tuple[float | None, float | None]:
    return (None, None) if value is None else (float(value[0]), float(value[1]))


def _number(value: Any) -> float | None:
    return None if value is None else float(value)


def _flag(value: Any) -> int | None:
    return None if value is None else int(value)
