"""Incubation as tables: boxes, eggs, readings, checks, hatchings, growth; those that the record has.

They are read by column name from whatever version of the record there is: a table it does not have is left
out, a column it does not have is left out too.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

from nestwatch.season.export.records import ID, NOTE, Cell, Field, Kind, Row, Table
from nestwatch.season.instants import read
from nestwatch.season.open import Record

_BOX = Field("container", "integer", "The box.", refers="containers")
_AT = Field("at", "datetime", "When.")
_MASS = Field("mass_g", "number", "Mass, g.")
_SHELL = Field("shell_mm", "number", "Length of the shell, mm.")


@dataclass(frozen=True, slots=True)
class _Kept:
    """A table of the record, and the name and columns it is exported with."""

    source: str
    name: str
    description: str
    fields: tuple[Field, ...]


_TABLES = (
    _Kept(
        "container",
        "containers",
        "Boxes in which eggs are incubated.",
        (
            ID,
            Field("label", "string", "What is written on the box."),
            Field("profile", "string", "The species profile; empty: the site's animal."),
            Field("medium", "string", "What the eggs lie in."),
            Field("dry_g", "number", "Dry medium, g."),
            Field("water_g", "number", "Water in it, g."),
            Field("start_g", "number", "The whole box when it was set up, g."),
            Field("incubator", "string", "The incubator."),
            Field("shelf", "string", "The shelf."),
            Field("set_up_at", "datetime", "When it was set up."),
            NOTE,
        ),
    ),
    _Kept(
        "egg",
        "eggs",
        "Eggs in boxes.",
        (
            ID,
            Field("clutch", "integer", "The clutch.", refers="clutches"),
            _BOX,
            Field("position", "string", "Where in the box."),
            Field("top_marked", "boolean", "Whether its top is marked; empty: not said."),
            Field("put_at", "datetime", "When it was put there."),
        ),
    ),
    _Kept(
        "probe",
        "probes",
        "Thermometers.",
        (
            ID,
            Field("name", "string", "Its name."),
            _BOX,
            Field("incubator", "string", "The incubator it tells of."),
            Field("lies", "string", "In the substrate or in the air; empty: not said."),
            NOTE,
        ),
    ),
    _Kept(
        "inspection",
        "inspections",
        "Looks at eggs and boxes.",
        (
            ID,
            _BOX,
            Field("egg", "integer", "The egg; empty: the whole box.", refers="eggs"),
            _AT,
            Field("saw", "string", "What was seen."),
            NOTE,
        ),
    ),
    _Kept(
        "weighing",
        "weighings",
        "Boxes weighed, and water added.",
        (
            ID,
            _BOX,
            _AT,
            Field("total_g", "number", "The whole box before water was added, g."),
            Field("added_g", "number", "Water added, g."),
        ),
    ),
    _Kept(
        "hatching",
        "hatchings",
        "What became of eggs.",
        (
            ID,
            Field("egg", "integer", "The egg.", refers="eggs"),
            _AT,
            Field("outcome", "string", "alive, dead-in-shell, infertile, lost."),
            _MASS,
            _SHELL,
            Field("name", "string", "The hatchling's name or number."),
            Field("left_at", "datetime", "When it left the incubator."),
            NOTE,
        ),
    ),
    _Kept(
        "growth",
        "growth",
        "Hatchlings measured in their head start.",
        (
            ID,
            Field("hatching", "integer", "The hatchling.", refers="hatchings"),
            _AT,
            _MASS,
            _SHELL,
            NOTE,
        ),
    ),
)

_READINGS = (
    Field("probe", "integer", "The thermometer.", refers="probes"),
    _AT,
    Field("celsius", "number", "Temperature, degrees Celsius."),
    Field("humidity", "number", "Relative humidity, per cent; empty: not read."),
)


def incubation_tables(record: Record) -> tuple[Table, ...]:
    """The tables of incubation that the record has, none where it knows nothing of it."""
    found = [_table(record, kept) for kept in _TABLES if _has(record, kept.source)]
    if _has(record, "readings"):
        rows = record.rows("SELECT probe, data FROM readings ORDER BY probe, starts_at, id")
        readings = tuple(reading for row in rows for reading in _readings(row))
        found.append(Table("readings", "Readings of thermometers.", _READINGS, readings))
    return tuple(found)


def _has(record: Record, table: str) -> bool:
    return bool(record.column_names(table))


def _table(record: Record, kept: _Kept) -> Table:
    there = set(record.column_names(kept.source))
    fields = tuple(field for field in kept.fields if field.name in there)
    names = ", ".join(field.name for field in fields)
    rows = record.rows(f"SELECT {names} FROM {kept.source} ORDER BY id")
    return Table(kept.name, kept.description, fields, tuple(_row(row, fields) for row in rows))


def _row(row: sqlite3.Row, fields: tuple[Field, ...]) -> Row:
    return {field.name: _cell(row[field.name], field.kind) for field in fields}


def _cell(value: str | float | None, kind: Kind) -> Cell:
    if kind == "boolean":
        return None if value is None else bool(value)
    return read(value) if kind == "datetime" and isinstance(value, str) else value


def _readings(row: sqlite3.Row) -> Iterator[Row]:
    data = json.loads(row["data"])
    humidity = data.get("h") or [None] * len(data["s"])
    for seconds, celsius, percent in zip(data["s"], data["c"], humidity, strict=True):
        at = datetime.fromtimestamp(seconds, UTC)
        yield {"probe": row["probe"], "at": at, "celsius": celsius, "humidity": percent}
