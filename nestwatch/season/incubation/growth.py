"""Measurements of hatchlings in their head start."""

from __future__ import annotations

import sqlite3
from datetime import datetime

from nestwatch.errors import DoubtfulEntry, EntryError
from nestwatch.season.incubation.hatchings import check_size, hatchling_called
from nestwatch.season.incubation.records import Growth
from nestwatch.season.instants import read, written
from nestwatch.season.open import Record, Values

HEAVIEST_G, LONGEST_MM = 20_000.0, 800.0
JUMP = 2.0
"""A mass that doubled or halved since the last measurement is asked about (judgement, no source)."""
_SELECT = "SELECT growth.*, hatching.name FROM growth JOIN hatching ON hatching.id = growth.hatching"


def growth_of(record: Record, name: str) -> tuple[Growth, ...]:
    """A hatchling's measurements, oldest first. Raises `EntryError` where there is no such hatchling."""
    number = hatchling_called(record, name).id
    rows = record.rows(f"{_SELECT} WHERE growth.hatching = ? ORDER BY growth.at, growth.id", (number,))
    return tuple(_growth(row) for row in rows)


def enter_growth(
    record: Record,
    name: str,
    *,
    mass_g: float | None = None,
    shell_mm: float | None = None,
    at: datetime | None = None,
    note: str | None = None,
    sure: bool = False,
) -> Growth:
    """Enter a measurement; `at`: when, now where None. Raises `EntryError`, `DoubtfulEntry` unless `sure`."""
    when = at or record.clock()
    if mass_g is None and shell_mm is None:
        raise EntryError("give a mass (--mass), a shell length (--shell), or both.")
    check_size(mass_g, shell_mm, HEAVIEST_G, LONGEST_MM)
    with record.writing(f"hatchling {name}: measured") as writer:
        hatched = hatchling_called(record, name)
        if not hatched.at <= when <= record.clock():
            raise EntryError(
                "a hatchling is measured after it hatched, and not in the future; check the day."
            )
        if not sure:
            _ask_about_jump(record, name, mass_g, hatched.mass_g)
        values: Values = {"hatching": hatched.id, "at": written(when), "mass_g": mass_g, "shell_mm": shell_mm}
        number = writer.add("growth", {**values, "note": note})
    return next(each for each in growth_of(record, name) if each.id == number)


def _ask_about_jump(record: Record, name: str, mass_g: float | None, first_g: float | None) -> None:
    before = next((each.mass_g for each in reversed(growth_of(record, name)) if each.mass_g), first_g)
    if mass_g is None or before is None or before / JUMP <= mass_g <= before * JUMP:
        return
    raise DoubtfulEntry(f"{name} weighed {before:g} g last, and {mass_g:g} g now? If it is so, add --sure.")


def _growth(row: sqlite3.Row) -> Growth:
    return Growth(
        row["id"],
        row["version"],
        row["hatching"],
        row["name"],
        read(row["at"]),
        row["mass_g"],
        row["shell_mm"],
        row["note"],
    )
