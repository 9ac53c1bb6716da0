"""JSON from the page -> drawings, strictly: what has not the right form is refused in one line."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, cast, get_args

from nestwatch.errors import PageError
from nestwatch.site.drawing import Drawing, DrawnZone
from nestwatch.site.records import Mark, Point, ZoneKind

MOST_ZONES = 60
MOST_CORNERS = 400
MOST_MARKS = 200
_DECIMALS = 1  # pixels are kept to a tenth


def read_drawing(data: object) -> Drawing:
    """`{"zones": [{"name", "kind", "outline", "was"}], "marks": [{"post", "pixel"}]}` -> records.

    Raises `PageError`. Whether the drawing makes sense is for `judge`.
    """
    table = _table(data, "the drawing")
    zones = _listed(table.get("zones"), "zones", MOST_ZONES)
    marks = _listed(table.get("marks"), "marks", MOST_MARKS)
    return Drawing(tuple(_zone(zone) for zone in zones), tuple(_mark(mark) for mark in marks))


def _zone(data: object) -> DrawnZone:
    table = _table(data, "a zone")
    kind = table.get("kind")
    if kind not in get_args(ZoneKind):
        raise PageError(f"a zone's kind is {', '.join(get_args(ZoneKind))}; reload the page.")
    outline = _listed(table.get("outline"), "corners of one zone", MOST_CORNERS)
    was = table.get("was")
    return DrawnZone(
        _text(table.get("name"), "a zone's name"),
        cast(ZoneKind, kind),
        tuple(_point(corner) for corner in outline),
        None if was is None else _text(was, "a zone's former name"),
    )


def _mark(data: object) -> Mark:
    table = _table(data, "a mark")
    return Mark(_text(table.get("post"), "a mark's post"), _point(table.get("pixel")))


def _table(data: object, what: str) -> Mapping[str, Any]:
    if not isinstance(data, dict):
        raise PageError(f"{what} is not readable; reload the page.")
    return data


def _listed(data: object, what: str, most: int) -> list[object]:
    if not isinstance(data, list):
        raise PageError(f"the list of {what} is not readable; reload the page.")
    if len(data) > most:
        raise PageError(f"{len(data)} {what} are more than this page takes (at most {most}).")
    return data


def _text(data: object, what: str) -> str:
    if not isinstance(data, str) or len(data) > 200:
        raise PageError(f"{what} is not readable; reload the page.")
    return data


def _point(data: object) -> Point:
    if not isinstance(data, list) or len(data) != 2 or not all(_is_number(value) for value in data):
        raise PageError("a place in the picture is not readable; reload the page.")
    return (round(float(data[0]), _DECIMALS), round(float(data[1]), _DECIMALS))


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
