"""Clutches and females as tables."""

from __future__ import annotations

from collections.abc import Sequence

from nestwatch.season.export.digs import LABEL
from nestwatch.season.export.nights import NIGHT
from nestwatch.season.export.records import ID, NOTE, Field, Row, Table
from nestwatch.season.records import Clutch, Female

_CLUTCHES = (
    ID,
    Field("dig", "integer", "The dig in which the eggs lay.", refers="digs"),
    NIGHT,
    LABEL,
    Field("female", "string", "Her name or number; empty: not known."),
    Field("laid_at", "datetime", "When the eggs were laid."),
    Field("laid_by", "string", "Who says so: keeper, or dig (its laying stage, else its beginning)."),
    Field("lifted_at", "datetime", "When the eggs were taken up; empty: still in the ground."),
    Field("eggs", "integer", "All eggs; empty: not counted."),
    Field("whole", "integer", "Eggs without fault."),
    Field("dented", "integer", "Eggs with the shell turned in."),
    Field("cracked", "integer", "Eggs with a crack from which nothing runs."),
    Field("broken", "integer", "Eggs from which it runs."),
    NOTE,
)

_FEMALES = (
    ID,
    Field("name", "string", "Her name or number."),
    Field("marks", "string", "Notches or other marks."),
    Field("shell_length_cm", "number", "Length of her shell, cm."),
    Field("clutches", "integer", "Clutches on record, of all years."),
    NOTE,
)


def clutches_table(clutches: Sequence[Clutch]) -> Table:
    """One row a clutch."""
    return Table("clutches", "Clutches as they were lifted.", _CLUTCHES, tuple(map(_clutch, clutches)))


def females_table(females: Sequence[Female]) -> Table:
    """One row a female."""
    names = [field.name for field in _FEMALES]
    rows = tuple({name: getattr(female, name) for name in names} for female in females)
    return Table("females", "Females.", _FEMALES, rows)


def _clutch(clutch: Clutch) -> Row:
    same = ("id", "dig", "night", "female", "laid_at", "laid_by", "lifted_at", "note")
    return {
        **{name: getattr(clutch, name) for name in same},
        "dig_label": clutch.label,
        "eggs": clutch.eggs.total,
        **{state: getattr(clutch.eggs, state) for state in ("whole", "dented", "cracked", "broken")},
    }
