"""Lengths as a keeper writes and reads them: `3.46 m`, `346 cm`, `11' 4 1/2"`, `11 ft 4 1/2 in`.

Inside all lengths are metres. An inch is 0.0254 m exactly (International Yard and Pound, 1959), so text is
read as exact fractions and rounded once, at the end.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

from nestwatch.site.records import Units

FOOT, INCH = Fraction(3048, 10000), Fraction(254, 10000)
LONGEST_M = 1000
EXAMPLES = "3.46 m, 346 cm or 11' 4 1/2\""

_SIGNS = str.maketrans(
    {"′": "'", "’": "'", "‘": "'", "´": "'", "`": "'", "″": '"', "”": '"', "“": '"', "⁄": "/", "\xa0": " "}
)
_GLYPHS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_NUMBER = r"\d+(?:[ -]+\d+/\d+)?|\d+[.,]\d+|\.\d+|\d+/\d+"
_UNITS = {
    Fraction(1): "m|metres?|meters?",
    Fraction(1, 100): "cm|centimetres?|centimeters?",
    Fraction(1, 1000): "mm|millimetres?|millimeters?",
    INCH: "\"|''|in\\.?|inch|inches",  # before the foot: two single signs make an inch
    FOOT: "'|ft\\.?|feet|foot",
}
# What may stand before what, and at how much the smaller one must stop: 11' 4" but not 4" 11' or 11' 13".
_SMALLER = {FOOT: (INCH, 12), Fraction(1): (Fraction(1, 100), 100)}


def parse_length(value: float | str) -> float:
    """Metres of a number (metres) or of text with units; else `ValueError` says in one line what to write."""
    exact = _exact(value) if isinstance(value, str) else _from_number(value)
    if not 0 < exact <= LONGEST_M:
        raise ValueError(
            f"{_shown(value)} is no length for a tape; it must be above 0 and at most {LONGEST_M} m"
        )
    return float(exact)


def format_length(metres: float, units: Units) -> str:
    """A length for people: to the centimetre, or in feet and inches to the nearest quarter inch.

    Halves are rounded up. Raises `ValueError` for a negative or unknown (NaN) length.
    """
    if not (math.isfinite(metres) and metres >= 0):
        raise ValueError(f"{metres} is no length")
    return _imperial(Fraction(metres)) if units == "imperial" else _metric(Fraction(metres))


def _metric(metres: Fraction) -> str:
    centimetres = _round(metres * 100)
    return f"{centimetres} cm" if centimetres < 100 else f"{centimetres // 100}.{centimetres % 100:02d} m"


def _imperial(metres: Fraction) -> str:
    feet, quarters = divmod(_round(metres / INCH * 4), 48)
    inches, part = divmod(quarters, 4)
    fraction = ("", "1/4", "1/2", "3/4")[part]
    shown = " ".join(([str(inches)] if inches or not fraction else []) + ([fraction] if fraction else []))
    if not feet:
        return f'{shown}"'
    return f"{feet}'" if quarters == 0 else f"{feet}' {shown}\""


def _round(value: Fraction) -> int:
    return math.floor(value + Fraction(1, 2))


def _from_number(value: float) -> Fraction:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ValueError(
            f"{_shown(value)} is not a length; write a number of metres, or text such as {EXAMPLES}"
        )
    return Fraction(str(value))  # the decimal that was written, not the nearest binary number


def _exact(text: str) -> Fraction:
    parts = _parts(text)
    total = Fraction(0)
    for place, (number, unit) in enumerate(parts):
        if place and not _may_follow(parts[place - 1], (number, unit)):
            raise ValueError(
                f"{_shown(text)} cannot be read; the smaller unit comes last and below one larger"
            )
        total += number * unit
    return total


def _may_follow(before: tuple[Fraction, Fraction], after: tuple[Fraction, Fraction]) -> bool:
    smaller, limit = _SMALLER.get(before[1], (None, 0))
    return before[0].denominator == 1 and after[1] == smaller and after[0] < limit


def _parts(text: str) -> list[tuple[Fraction, Fraction]]:
    """Numbers with their units, in the order written."""
    rest = _plain(text)
    found = []
    while rest:
        match = re.match(rf"({_NUMBER})\s*({'|'.join(_UNITS.values())})(?![a-z])[\s,]*", rest)
        if match is None:
            raise ValueError(_unreadable(text, rest))
        unit = next(size for size, names in _UNITS.items() if re.fullmatch(names, match[2]))
        found.append((_number(match[1], text), unit))
        rest = rest[match.end() :]
    if not found:
        raise ValueError(f"the length is empty; write for example {EXAMPLES}")
    return found


def _plain(text: str) -> str:
    for glyph, written in _GLYPHS.items():
        text = text.replace(glyph, f" {written}")
    return re.sub(r"\s+", " ", text.translate(_SIGNS)).strip().lower()


def _number(written: str, text: str) -> Fraction:
    if re.fullmatch(r"\d+,\d{3}", written):
        raise ValueError(f"{_shown(text)} can be read in two ways; write the decimals after a point")
    whole, _, part = written.replace(",", ".").replace("-", " ").partition(" ")
    try:
        return Fraction(whole) + (Fraction(part.strip()) if part else 0)
    except ZeroDivisionError:
        raise ValueError(f"{_shown(text)} has a fraction over 0; write for example {EXAMPLES}") from None


def _unreadable(text: str, rest: str) -> str:
    if re.fullmatch(_NUMBER, rest):
        return f"{_shown(text)} has no unit; write for example {EXAMPLES}"
    return f"{_shown(text)} is not a length; write for example {EXAMPLES}"


def _shown(value: object) -> str:
    return f"'{value}'" if isinstance(value, str) else str(value)
