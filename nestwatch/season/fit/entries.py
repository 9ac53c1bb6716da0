"""The record's settled digs as entries to fit on: what was claimed of each, and what was found.

A dig counts where a scan gave it a likelihood, the latest scan of its night still lists it, and the keeper
settled it. What nobody dug up is not known, whatever it was called.
"""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np

import nestwatch
from nestwatch.nesting.scale import Scale
from nestwatch.season.fit.records import Counts, Entries
from nestwatch.season.open import Record

_JUDGED = (
    "SELECT night.id AS night, night.date, night.program, dig.call, dig.listed, dig.likelihood, "
    "coalesce(dig.likelihood_as_built, dig.likelihood) AS as_built, find.found "
    "FROM dig JOIN night ON night.id = dig.night LEFT JOIN find ON find.dig = dig.id "
    "WHERE dig.likelihood IS NOT NULL AND (dig.listed OR find.found IN ('eggs', 'empty', 'set-aside')) "
    "ORDER BY night.date, dig.id"
)
_ROUNDED = 0.0006  # night files round to three digits


def read_entries(record: Record) -> tuple[Entries, Counts]:
    """What can be fitted on, and how many digs are of which kind. Raises `RecordError`."""
    rows = record.rows(_JUDGED)
    settled = [row for row in rows if _kind(row) in {"eggs", "empty", "set_aside"}]
    kinds = Counter(_kind(row) for row in rows)
    others = sum(row["program"] != nestwatch.__version__ for row in settled)
    return _entries(settled), replace(Counts(**kinds), other_program=others)


def earlier_nights(record: Record, scale: Scale | None) -> tuple[date, ...]:
    """Nights with a listed dig whose likelihood is another than `scale` (None: as built) gives it."""
    rows = [row for row in record.rows(_JUDGED) if row["listed"]]
    as_built = np.array([row["as_built"] for row in rows], np.float64)
    wanted = as_built if scale is None else scale(as_built)
    off = np.abs(wanted - np.array([row["likelihood"] for row in rows], np.float64)) > _ROUNDED
    dates = {row["date"] for row, other in zip(rows, off, strict=True) if other}
    return tuple(date.fromisoformat(each) for each in sorted(dates))


def _kind(row: sqlite3.Row) -> str:
    """A field of `Counts`."""
    if row["found"] in {None, "not-yet"}:
        return "rests" if row["found"] is None and row["call"] == "rest" else "waiting"
    return str(row["found"]).replace("-", "_") if row["listed"] else "unlisted"


def _entries(rows: Sequence[sqlite3.Row]) -> Entries:
    nights = np.array([row["night"] for row in rows], np.int64)
    return Entries(
        np.array([row["as_built"] for row in rows], np.float64),
        np.array([row["found"] == "eggs" for row in rows], np.bool_),
        nights,
        len(set(nights.tolist())),
    )
