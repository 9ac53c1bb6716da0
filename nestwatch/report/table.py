"""`digs.csv`: the digs of a night as a table for a spreadsheet (RFC 4180; columns in docs/night-file.md)."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from typing import Any

from nestwatch.report.records import PICTURE_NAMES
from nestwatch.report.words import seconds_between

NAME = "digs.csv"

# A cell of text beginning with one of these is run as a formula by common spreadsheets.
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def digs_table(document: Mapping[str, Any]) -> bytes:
    """The table as UTF-8: a header, then one record a dig in rank order; CRLF line ends; empty = unknown.

    Text that a spreadsheet would take for a formula gets an apostrophe in front; numbers stay numbers.
    """
    file = io.StringIO(newline="")
    writer = csv.writer(file, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for dig in document["digs"]:
        writer.writerow([harmless(value) for value in _row(document, dig)])
    return file.getvalue().encode()


COLUMNS = (
    "site",
    "night",
    "rank",
    "camera",
    "cameras",
    "zone",
    "from",
    "to",
    "minutes",
    "call",
    "likelihood",
    "in_nesting_hours",
    "pixel_x",
    "pixel_y",
    "within_px",
    "plan_x_m",
    "plan_y_m",
    "within_m",
    "tape",
    "shell_length_cm",
    "stages",
    "reasons",
    *(f"picture_{name}" for name in PICTURE_NAMES),
    "clip",
)


def _row(document: Mapping[str, Any], dig: Mapping[str, Any]) -> list[Any]:
    """One dig's values in the order of `COLUMNS`."""
    values = {
        **{name: dig.get(name) for name in COLUMNS},
        "site": document["site"],
        "night": document["night"],
        "cameras": "; ".join(dig["cameras"]),
        "minutes": round(seconds_between(dig["from"], dig["to"]) / 60, 1),
        "in_nesting_hours": "yes" if dig["in_nesting_hours"] else "no",
        "tape": "; ".join(f"{each['m']:.2f} m from {each['post']}" for each in dig["tape"]),
        "stages": "; ".join(f"{each['stage']} {each['from']}/{each['to']}" for each in dig["stages"]),
        "reasons": "; ".join(dig["reasons"]),
        **dict(zip(("pixel_x", "pixel_y"), dig["pixel"], strict=True)),
        **dict(zip(("plan_x_m", "plan_y_m"), dig["plan_m"] or (None, None), strict=True)),
        **{f"picture_{name}": dig["pictures"][name] for name in PICTURE_NAMES},
    }
    return [values[name] for name in COLUMNS]


def harmless(value: Any) -> Any:
    """`value` as written: text made harmless, everything else left to the csv module (None is empty)."""
    if isinstance(value, str) and value.lstrip(" ").startswith(_FORMULA):
        return f"'{value}"
    return value
