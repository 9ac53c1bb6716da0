"""A record with one clutch of nine eggs, a clock that can be set, and readings for it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from nestwatch.season.clutches import clutch_of
from nestwatch.season.digs import dig_called
from nestwatch.season.finds import enter_find
from nestwatch.season.incubation.logger.records import Log
from nestwatch.season.incubation.records import Series
from nestwatch.season.open import Record
from nestwatch.season.records import Clutch, Eggs
from nestwatch.site.records import Site
from tests.season.records import NIGHT, dig_entry, record_in, scanned, site_in

LAID = datetime(2026, 6, 12, 19, 14, 30, tzinfo=UTC)
"""When the stage of laying begins in the night file."""
MORNING = datetime(2026, 6, 13, 5, 0, tzinfo=UTC)


def a_site(folder: Path, animal: str = "European pond turtle") -> Site:
    site = site_in(folder)
    return replace(site, animal=replace(site.animal, name=animal))


def a_season(folder: Path) -> tuple[Record, Clutch]:
    """An open record on the morning after laying, and its clutch."""
    record = record_in(folder, MORNING)
    scanned(record, folder, [dig_entry()])
    dig = dig_called(record, NIGHT, "1")
    enter_find(record, site_in(folder), dig, "eggs", eggs=Eggs(whole=9))
    clutch = clutch_of(record, dig.id)
    assert clutch is not None
    return record, clutch


def later(record: Record, **more: float) -> datetime:
    """Set the record's clock so much after the morning."""
    at = MORNING + timedelta(**more)
    record.clock = lambda: at
    return at


def a_log(days: float, celsius: float = 28.0, step_h: float = 1.0, start: datetime = MORNING) -> Log:
    """Constant readings from `start` on."""
    hours = np.arange(0, 24 * days, step_h)
    seconds = start.timestamp() + 3600 * hours
    series = Series(seconds, np.full(len(hours), celsius), np.full(len(hours), np.nan))
    ends = [datetime.fromtimestamp(float(seconds[k]), UTC) for k in (0, -1)]
    return Log(series, ("read so",), (), *ends)
