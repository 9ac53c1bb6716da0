"""Lengths on the sheet, in the units of the site."""

from __future__ import annotations

from nestwatch.report import words
from nestwatch.site.records import Units
from nestwatch.site.tape import format_length


def taped(metres: float, units: Units) -> str:
    """A length to be taped: to the centimetre, or to the nearest quarter inch."""
    return format_length(metres, units)


def radius(metres: float, units: Units) -> str:
    """A radius, rounded up so that it holds what it held."""
    return words.nearness(metres, units)


def short(metres: float, units: Units) -> str:
    """A length in words for fingers: `10 cm`, or `4 in`."""
    return f"{metres * 100:.0f} cm" if units == "metric" else f"{metres / 0.0254:.0f} in"
