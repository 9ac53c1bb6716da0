"""The whole record as tables, of one year or of all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from nestwatch.errors import RecordError
from nestwatch.season.clutches import clutches
from nestwatch.season.export.clutches import clutches_table, females_table
from nestwatch.season.export.digs import digs_table, finds_table
from nestwatch.season.export.incubation import incubation_tables
from nestwatch.season.export.nights import footage_table, nights_table, watched_table
from nestwatch.season.export.records import Table
from nestwatch.season.females import females
from nestwatch.season.night_view import night_of
from nestwatch.season.open import Record
from nestwatch.season.records import Clutch, Night


@dataclass(frozen=True, slots=True)
class Season:
    """What is exported: nights by date, their clutches, and everything as tables (those without rows too)."""

    nights: tuple[Night, ...]
    clutches: tuple[Clutch, ...]
    tables: tuple[Table, ...]


def read_season(record: Record, year: int | None = None) -> Season:
    """All that the record has, or what began in the nights of one year (by their evenings).

    Raises `RecordError` where there is no night: an empty table would look like a season without a dig.
    """
    nights = _nights(record, year)
    if not nights:
        of = "" if year is None else f" of {year}"
        raise RecordError(
            f"{record.path} holds no night{of}, so there is nothing to export; run nestwatch night first"
            f"{'' if year is None else ', or choose another --year'}."
        )
    known = {night.date for night in nights}
    own = tuple(clutch for clutch in clutches(record) if clutch.night in known)
    return Season(nights, own, _tables(record, nights, own, year))


def _nights(record: Record, year: int | None) -> tuple[Night, ...]:
    dates = [date.fromisoformat(row["date"]) for row in record.rows("SELECT date FROM night ORDER BY date")]
    found = (night_of(record, each) for each in dates if year in {None, each.year})
    return tuple(night for night in found if night is not None)


def _tables(
    record: Record, nights: Sequence[Night], own: Sequence[Clutch], year: int | None
) -> tuple[Table, ...]:
    digs = [dig for night in nights for dig in night.digs]
    of_record = (
        nights_table(nights),
        footage_table(nights),
        watched_table(nights),
        digs_table(digs),
        finds_table(digs),
        clutches_table(own),
        females_table(females(record)),
    )
    further = incubation_tables(record)
    return (*of_record, *(further if year is None else of_year(of_record, further, year)))


def of_year(of_record: Sequence[Table], further: Sequence[Table], year: int) -> tuple[Table, ...]:
    """Tables of incubation without rows of other years: those of other clutches, and of boxes without an egg
    of this year. Thermometers stay, their readings of other years go."""
    kept = {table.name: table for table in (*of_record, *further)}
    if "eggs" in kept:
        kept["eggs"] = _referring(kept["eggs"], kept)
        boxes = {row["container"] for row in kept["eggs"].rows}
        if "containers" in kept:
            rows = tuple(row for row in kept["containers"].rows if row["id"] in boxes)
            kept["containers"] = replace(kept["containers"], rows=rows)
    for name in ("inspections", "weighings", "hatchings", "growth"):
        if name in kept:
            kept[name] = _referring(kept[name], kept)
    if "probes" in kept:
        kept["probes"] = _loosened(kept["probes"], kept)
    if "readings" in kept:
        rows = tuple(row for row in kept["readings"].rows if _year_of(row["at"]) == year)
        kept["readings"] = replace(kept["readings"], rows=rows)
    return tuple(kept[table.name] for table in further)


def _referring(table: Table, kept: dict[str, Table]) -> Table:
    """Without rows that refer to one that is left out."""
    known = _known(table, kept)
    rows = tuple(
        row for row in table.rows if all(row[name] is None or row[name] in ids for name, ids in known.items())
    )
    return replace(table, rows=rows)


def _loosened(table: Table, kept: dict[str, Table]) -> Table:
    """All rows, without references to what is left out."""
    known = _known(table, kept)
    rows = tuple(
        {name: None if name in known and value not in known[name] else value for name, value in row.items()}
        for row in table.rows
    )
    return replace(table, rows=rows)


def _known(table: Table, kept: dict[str, Table]) -> dict[str, set[object]]:
    """By column that refers: the ids there are."""
    return {
        field.name: {row["id"] for row in kept[field.refers].rows}
        for field in table.fields
        if field.refers in kept
    }


def _year_of(at: object) -> int | None:
    return at.year if isinstance(at, datetime) else None
