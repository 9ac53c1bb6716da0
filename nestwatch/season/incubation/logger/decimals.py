"""Decimal point or comma, also where the comma separates fields too."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from nestwatch.errors import EntryError
from nestwatch.season.incubation.logger.records import Decimal
from nestwatch.season.incubation.logger.text import Line

NUMBER = re.compile(r"([+-]?\d+(?:[.,]\d+)?)\s*(°?\s*[CcFf]|%\s*(?:rh|RH)?)?")
_WHOLE = re.compile(r"[+-]?\d+")
_TAIL = re.compile(r"\d+(\s*°?\s*[CF%])?")
_ASK = "the comma separates the fields and may also stand in numbers ({}): say --decimal comma or point."


def number(text: str | None, decimal: Decimal) -> float | None:
    """A number with or without its unit, None where the text is none (empty, ---, NaN, error words)."""
    found = NUMBER.fullmatch((text or "").strip())
    if found is None or ("." if decimal == "comma" else ",") in found[1]:
        return None
    return float(found[1].replace(",", "."))


def decide_decimal(values: Sequence[str], chosen: Decimal | None) -> tuple[Decimal, str]:
    """Point or comma from the numbers of the temperature column. Raises `EntryError` where both occur."""
    if chosen is not None:
        return chosen, f"decimal {chosen}, as you said"
    numbers = [value for value in values if NUMBER.fullmatch(value)]
    commas, points = (any(mark in value for value in numbers) for mark in (",", "."))
    if commas and points:
        raise EntryError(
            "temperatures are written with points and with commas; say --decimal comma or point."
        )
    decimal: Decimal = "comma" if commas else "point"
    return decimal, f"decimal {decimal}" if commas or points else "whole numbers"


def mend_commas(rows: list[Line], width: int | None, chosen: Decimal | None) -> list[Line]:
    """Rows whose decimal commas were taken for separators, put together again.

    `rows`: fields of the lines with readings; `width`: how many fields the header has, None without one.
    Raises `EntryError` where it cannot be told.
    """
    if chosen == "point":
        return rows
    sure = chosen == "comma" or (width is not None and all(len(parts) > width for _, parts in rows))
    if sure:
        return [(line, _joined(parts)) for line, parts in rows]
    if width is None and all(_doubtful(parts) for _, parts in rows):
        raise EntryError(_ASK.format(",".join(rows[0][1])))
    return rows


def _doubtful(parts: list[str]) -> bool:
    """Whether two whole numbers stand side by side and no number has a point."""
    pointed = any(re.fullmatch(r"[+-]?\d+\.\d+", part) for part in parts)
    return not pointed and any(_WHOLE.fullmatch(a) and _TAIL.fullmatch(b) for a, b in pairwise(parts))


def _joined(parts: list[str]) -> list[str]:
    """Whole numbers in pairs from the end: `28`, `4` becomes `28,4`."""
    out: list[str] = []
    rest = list(parts)
    while rest:
        last = rest.pop()
        if rest and _TAIL.fullmatch(last) and _WHOLE.fullmatch(rest[-1]):
            last = f"{rest.pop()},{last}"
        out.append(last)
    return out[::-1]
