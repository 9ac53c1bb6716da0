"""Digs, and what the keeper found at them, as tables."""

from __future__ import annotations

from collections.abc import Sequence

from nestwatch.season.export.nights import NIGHT
from nestwatch.season.export.records import ID, NOTE, Field, Row, Table
from nestwatch.season.records import Dig

LABEL = Field(
    "dig_label", "string", "What the keeper calls the dig: its rank on the night's page, or a letter."
)

_DIGS = (
    ID,
    NIGHT,
    LABEL,
    Field(
        "source", "string", "scan; by hand: footage (seen there), eye (seen outside), found (by its eggs)."
    ),
    Field("listed", "boolean", "Whether the latest scan of the night lists it."),
    Field("camera", "string", "The camera that saw it best."),
    Field("cameras", "string", "All cameras that saw it, separated by |."),
    Field("zone", "string", "The zone on the camera's picture."),
    Field("pen", "string", "The pen."),
    Field("from", "datetime", "When the stay began."),
    Field("to", "datetime", "When it ended."),
    Field("call", "string", "What the program thinks: nest, trial, rest, unclear; empty: no scan saw it."),
    Field("likelihood", "number", "That eggs lie there, 0 to 1, by the program."),
    Field(
        "likelihood_as_built", "number", "The same before it was fitted to the site's finds; empty: no fit."
    ),
    Field("in_nesting_hours", "boolean", "Whether it lies in the hours in which digs are expected."),
    Field("stages", "string", "search, dig, lay, cover: stage and from/to, separated by |."),
    Field("reasons", "string", "Why the program thinks so, separated by |."),
    Field("shell_length_cm", "number", "Length of the shell as measured in the picture, cm."),
    Field("pixel_x", "number", "Egg chamber in the camera's picture, pixels from the left.", private="place"),
    Field("pixel_y", "number", "The same, pixels from the top.", private="place"),
    Field("within_px", "number", "Radius that holds the chamber in 9 of 10 cases, pixels.", private="place"),
    Field("plan_x_m", "number", "Egg chamber on the pen's plan, metres.", private="place"),
    Field("plan_y_m", "number", "The same, the other axis.", private="place"),
    Field("within_m", "number", "Radius that holds the chamber in 9 of 10 cases, metres.", private="place"),
    Field("found", "string", "What the keeper found: eggs, empty, not-yet, set-aside; empty: not entered."),
    NOTE,
)

_FINDS = (
    ID,
    Field("dig", "integer", "The dig.", refers="digs"),
    NIGHT,
    LABEL,
    Field("found", "string", "eggs, empty, not-yet (not dug up yet), set-aside (not to be dug)."),
    Field("why", "string", "Why it was set aside or left.", private="words"),
    Field("entered_at", "datetime", "When it was entered or changed last."),
)


def digs_table(digs: Sequence[Dig]) -> Table:
    """One row a dig, rests too."""
    return Table("digs", "Digs and rests, by scans and by hand.", _DIGS, tuple(_dig(dig) for dig in digs))


def finds_table(digs: Sequence[Dig]) -> Table:
    """One row for each dig that the keeper has said something of."""
    rows = tuple(
        {
            **{name: getattr(dig.find, name) for name in ("id", "found", "why", "entered_at")},
            "dig": dig.id,
            "night": dig.night,
            "dig_label": dig.label,
        }
        for dig in digs
        if dig.find is not None
    )
    return Table("finds", "What the keeper found at digs.", _FINDS, rows)


def _dig(dig: Dig) -> Row:
    same = ("id", "night", "source", "listed", "camera", "zone", "pen", "call", "likelihood", "note")
    more = ("likelihood_as_built", "in_nesting_hours", "shell_length_cm", "within_px", "within_m")
    pixel, plan = dig.pixel or (None, None), dig.plan_m or (None, None)
    stages = " | ".join(f"{each['stage']} {each['from']}/{each['to']}" for each in dig.stages)
    return {
        **{name: getattr(dig, name) for name in (*same, *more)},
        "dig_label": dig.label,
        "cameras": " | ".join(dig.cameras) or None,
        "from": dig.start,
        "to": dig.end,
        "stages": stages or None,
        "reasons": " | ".join(dig.reasons) or None,
        "pixel_x": pixel[0],
        "pixel_y": pixel[1],
        "plan_x_m": plan[0],
        "plan_y_m": plan[1],
        "found": None if dig.find is None else dig.find.found,
    }
