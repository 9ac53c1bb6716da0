"""Degrees Celsius or Fahrenheit: by the heading, the values' own unit, or the only one that can be."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from nestwatch.errors import EntryError
from nestwatch.season.incubation.logger.records import Unit

NEVER_C = (12.0, 42.0)
"""No clutch is kept for long outside these (judgement, wider than any species' range; no source). As degrees
Fahrenheit they are 53.6 to 107.6, so a file's middle value fits at most one unit."""
_CELSIUS = re.compile(r"°\s*c\b|celsius|\bdeg\.?\s*c\b|[(\[_ ]c[)\]]?$|centigrade")
_FAHRENHEIT = re.compile(r"°\s*f\b|fahrenheit|\bdeg\.?\s*f\b|[(\[_ ]f[)\]]?$")
_NAMES = {"c": "°C", "f": "°F"}


def to_celsius(value: float, unit: Unit) -> float:
    """Degrees Celsius."""
    return value if unit == "c" else (value - 32) / 1.8


def unit_of(text: str) -> Unit | None:
    """The unit that a heading or a value names."""
    plain = text.strip().casefold()
    if _FAHRENHEIT.search(plain):
        return "f"
    return "c" if _CELSIUS.search(plain) else None


def decide_unit(
    values: Sequence[float],
    heading: str | None,
    sample: str,
    chosen: Unit | None,
    *,
    likely: tuple[float, float] = NEVER_C,
    what: str = "eggs",
) -> tuple[Unit, str]:
    """The unit and why. `sample`: one value as written. Raises `EntryError` where it cannot be told.

    `likely`: degrees Celsius between which the middle value of `what` lies, so narrow that no degrees
    Fahrenheit can be meant by a number that fits.
    """
    if chosen is not None:
        return chosen, f"{_NAMES[chosen]}, as you said"
    told = unit_of(heading or "") or unit_of(re.sub(r"^[-+\d.,]+", " ", sample))
    if told is not None:
        return told, f"{_NAMES[told]}, by the file"
    middle = float(np.median(np.asarray(values)))
    for unit in ("c", "f"):
        if likely[0] <= to_celsius(middle, unit) <= likely[1]:
            return unit, f"{_NAMES[unit]}, the only unit in which a middle value of {middle:g} can be {what}"
    raise EntryError(
        f"the file does not say its unit, and half of its temperatures lie above {middle:g}, which fits "
        f"{what} in neither; say --unit c or --unit f."
    )
