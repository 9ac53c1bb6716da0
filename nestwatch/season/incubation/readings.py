"""Readings in the record: a file taken in once, values entered by hand, and one series a probe."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import numpy as np

from nestwatch.errors import DoubtfulEntry, EntryError
from nestwatch.season.incubation.logger.records import Log
from nestwatch.season.incubation.logger.units import NEVER_C
from nestwatch.season.incubation.probes import probe_called
from nestwatch.season.incubation.profile import Profile, profile_called
from nestwatch.season.incubation.records import Batch, Probe, Series
from nestwatch.season.instants import read, written
from nestwatch.season.open import Record

if TYPE_CHECKING:
    from nestwatch.site.records import Site

SAME_C = 0.06
"""Values of one instant that differ by no more are the same reading, rounded."""
FAR_C = 8.0
"""So far outside the temperatures aimed at, the middle of a file or a value by hand is asked about."""
_SELECT = "SELECT readings.*, probe.name AS probe_name FROM readings JOIN probe ON probe.id = readings.probe"


def batches(record: Record) -> tuple[Batch, ...]:
    """What was taken in, by probe and time."""
    return tuple(_batch(row) for row in record.rows(f"{_SELECT} ORDER BY probe.name, starts_at"))


def series_of(record: Record, probe: Probe) -> Series:
    """All readings of a probe by time; of several at one instant the one entered last."""
    rows = record.rows("SELECT data FROM readings WHERE probe = ? ORDER BY id DESC", (probe.id,))
    return _merged([_unpacked(row["data"]) for row in rows])


def take_log(record: Record, site: Site, name: str, log: Log, file: str, *, sure: bool = False) -> int:
    """Take in a file's readings for a probe; returns how many were new.

    Raises `EntryError` (no such probe, nothing new), `DoubtfulEntry` unless `sure`: values that no egg of the
    profile is kept at, or others than the record has of the same instants.
    """
    with record.writing(f"readings of probe {name}") as writer:
        probe = probe_called(record, name)
        _check_plausible(_profile(record, site, probe), float(np.median(log.series.celsius)), sure=sure)
        fresh = _fresh(series_of(record, probe), log.series, sure=sure)
        writer.add("readings", _columns(probe, fresh, file, "; ".join((*log.how, *log.left_out))))
        writer.words = f"probe {probe.name}: {len(fresh.seconds)} readings of {file}"
    return len(fresh.seconds)


def enter_reading(
    record: Record,
    site: Site,
    name: str,
    celsius: float,
    *,
    at: datetime | None = None,
    humidity: float | None = None,
    sure: bool = False,
) -> None:
    """One value by hand; `at`: when, now where None. Raises `EntryError`, `DoubtfulEntry` unless `sure`."""
    when = at or record.clock()
    if when > record.clock():
        raise EntryError("that reading is still to come; check the day.")
    if humidity is not None and not 0 <= humidity <= 100:
        raise EntryError(f"a humidity of {humidity:g} % cannot be; give 0 to 100.")
    one = Series(
        np.array([float(int(when.timestamp()))]),
        np.array([celsius]),
        np.array([np.nan if humidity is None else humidity]),
    )
    with record.writing(f"probe {name}: {celsius:.1f} °C by hand") as writer:
        probe = probe_called(record, name)
        _check_plausible(_profile(record, site, probe), celsius, sure=sure)
        writer.add("readings", _columns(probe, one, None, "by hand"))


def _profile(record: Record, site: Site, probe: Probe) -> Profile:
    """The profile of the probe's box, else that of the site's animal."""
    row = record.row("SELECT profile FROM container WHERE id = ?", (probe.container,))
    return profile_called(site, None if row is None else row["profile"])


def _check_plausible(profile: Profile, celsius: float, *, sure: bool) -> None:
    """Asks about temperatures at which this species' eggs are not kept: often it is the unit."""
    if sure:
        return
    aim = profile.aim_c
    low, high = NEVER_C if aim is None else (aim.low - FAR_C, aim.high + FAR_C)
    if low <= celsius <= high:
        return
    usual = "" if aim is None else f"{profile.name} is kept at {aim.words('°C')}; "
    raise DoubtfulEntry(
        f"{celsius:.1f} °C is far from what is plausible ({usual}below {low:g} and above {high:g} °C "
        f"is asked about)"
        f"{_other_unit(celsius, low, high)}; if it is so, add --sure."
    )


def _other_unit(celsius: float, low: float, high: float) -> str:
    """What the value would be in the other unit, where that would fit."""
    as_f = (celsius - 32) / 1.8
    if low <= as_f <= high:
        return f". As °F it would be {as_f:.1f} °C: say --unit f"
    as_c = celsius * 1.8 + 32
    return f". Read as °C it would be {as_c:.1f} °C: say --unit c" if low <= as_c <= high else ""


def _fresh(there: Series, new: Series, *, sure: bool) -> Series:
    """The readings that the record does not have; with `sure` those that differ from it as well."""
    _, old_at, new_at = np.intersect1d(there.seconds, new.seconds, return_indices=True)
    differs = np.abs(there.celsius[old_at] - new.celsius[new_at]) > SAME_C
    if differs.any() and not sure:
        raise DoubtfulEntry(
            f"{int(differs.sum())} of {len(new.seconds)} readings differ from what the record has of this "
            "probe at the same times: another probe's file, or another unit? If they are right, add --sure."
        )
    keep = np.ones(len(new.seconds), dtype=bool)
    keep[new_at[~differs]] = False
    if not keep.any():
        raise EntryError("every reading of this file is in the record already; nothing was changed.")
    return Series(new.seconds[keep], new.celsius[keep], new.humidity[keep])


def _columns(probe: Probe, series: Series, file: str | None, how: str) -> dict[str, Any]:
    ends = [datetime.fromtimestamp(float(series.seconds[k]), UTC) for k in (0, -1)]
    return {
        "probe": probe.id,
        "file": file,
        "how": how,
        "count": len(series.seconds),
        "starts_at": written(ends[0]),
        "ends_at": written(ends[1]),
        "data": _packed(series),
    }


def _packed(series: Series) -> str:
    humidity = [None if np.isnan(value) else round(float(value), 2) for value in series.humidity]
    return json.dumps(
        {
            "s": [int(each) for each in series.seconds],
            "c": [round(float(each), 3) for each in series.celsius],
            "h": None if all(each is None for each in humidity) else humidity,
        },
        separators=(",", ":"),
    )


def _unpacked(text: str) -> Series:
    data = json.loads(text)
    humidity = data["h"] or [None] * len(data["s"])
    return Series(
        np.array(data["s"], dtype=np.float64),
        np.array(data["c"], dtype=np.float64),
        np.array([np.nan if each is None else each for each in humidity], dtype=np.float64),
    )


def _merged(parts: Sequence[Series]) -> Series:
    """All readings by time, of an instant the first part's."""
    if not parts:
        return Series(np.empty(0), np.empty(0), np.empty(0))
    columns = [np.concatenate([getattr(each, name) for each in parts]) for name in ("seconds", "celsius")]
    humidity = np.concatenate([each.humidity for each in parts])
    once, which = np.unique(columns[0], return_index=True)
    return Series(once, columns[1][which], humidity[which])


def _batch(row: sqlite3.Row) -> Batch:
    return Batch(
        row["id"],
        row["version"],
        row["probe_name"],
        row["file"],
        row["how"],
        row["count"],
        read(row["starts_at"]),
        read(row["ends_at"]),
    )
