"""How long a season's record takes to open, and what is read from it first.

    python -m bench.record_speed [--nights 120] [--cameras 4] [--digs 30]

Makes a record in a temporary folder: every camera has so many digs each night, every dig a find, a tenth of
them eggs with a clutch, all but the last night settled. Prints the size, and for each step the median and the
worst of nine runs, opening the file anew for each. The system's cache is warm, as on any morning after the
night's run.
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from nestwatch.season.digs import open_digs
from nestwatch.season.night_view import calendar, night_of
from nestwatch.season.nights import take_in
from nestwatch.season.open import NAME, Record, open_record
from nestwatch.season.tally.season import season_of
from nestwatch.site.records import Site
from tests.marking.nights import a_site
from tests.season.records import dig_entry, night_file

FIRST = date(2026, 5, 1)
RUNS = 9


def main() -> None:
    """Make the season, time the steps, print."""
    options = _options()
    with tempfile.TemporaryDirectory() as folder:
        site = replace(a_site(), path=Path(folder) / "site.toml")
        _fill(site, options.nights, options.cameras, options.digs)
        size = (Path(folder) / NAME).stat().st_size / 1e6
        print(f"{options.nights} nights x {options.cameras} cameras x {options.digs} digs: {size:.1f} MB")
        last = FIRST + timedelta(days=options.nights - 1)
        steps: dict[str, Callable[[Record], object]] = {
            "open, with its check": lambda record: None,
            "open and list what waits": open_digs,
            "open and show one night": lambda record: night_of(record, last),
            "open and show the calendar": lambda record: calendar(record, FIRST, last),
            "open and tally the season": lambda record: season_of(record, site),
        }
        for name, step in steps.items():
            spent = [_timed(site, step) for _ in range(RUNS)]
            elapsed, processor = zip(*spent, strict=True)
            print(
                f"{name}: median {statistics.median(elapsed):.3f} s, worst {max(elapsed):.3f} s, "
                f"of the processor {statistics.median(processor):.3f} s"
            )


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--nights", type=int, default=120)
    parser.add_argument("--cameras", type=int, default=4)
    parser.add_argument("--digs", type=int, default=30, help="digs of each camera each night")
    return parser.parse_args()


def _timed(site: Site, step: Callable[[Record], object]) -> tuple[float, float]:
    """Seconds elapsed, and of the processor: on a busy machine they are far apart."""
    start = time.perf_counter(), time.process_time()
    with open_record(site) as record:
        step(record)
    return time.perf_counter() - start[0], time.process_time() - start[1]


def _fill(site: Site, nights: int, cameras: int, digs: int) -> None:
    with open_record(site, clock=lambda: datetime(2026, 9, 30, tzinfo=UTC)) as record:
        for number in range(nights):
            night = FIRST + timedelta(days=number)
            take_in(record, site, _document(night, cameras, digs), site.path.parent / "nights" / f"{night}")
        _settle(record, FIRST + timedelta(days=nights - 1))


def _settle(record: Record, last: date) -> None:
    """Finds for all digs but those of the last night; every tenth has eggs."""
    with record.writing("finds") as writer:
        writer.run(
            "INSERT INTO find (dig, found, entered_at) "
            "SELECT dig.id, CASE WHEN dig.id % 10 THEN 'empty' ELSE 'eggs' END, '2026-09-01T05:00:00Z' "
            "FROM dig JOIN night ON night.id = dig.night WHERE date < ?",
            (last.isoformat(),),
        )
        writer.run("INSERT INTO clutch (dig, whole) SELECT dig, 9 FROM find WHERE found = 'eggs'", ())


def _document(night: date, cameras: int, digs: int) -> dict[str, Any]:
    entries = [_entry(rank, f"camera {rank % cameras}") for rank in range(1, cameras * digs + 1)]
    document = night_file(entries, night.isoformat())
    footage = document["footage"][0]
    each = [{**footage, "camera": f"camera {number}"} for number in range(cameras)]
    return {**document, "footage": each}


def _entry(rank: int, camera: str) -> dict[str, Any]:
    """A dig with as much text as one of a real night."""
    entry = dig_entry(rank, place=(rank % 40 / 10, rank // 40))
    return {
        **entry,
        "camera": camera,
        "reasons": [f"{number}: moved at its hind end for 41 min before it lay still" for number in range(6)],
        "stages": entry["stages"] * 4,
        "tape": [{"post": f"post {number}", "m": 1.234} for number in range(3)],
        "pictures": {
            name: f"pictures/{camera}-20260612T191400Z-531-424-{name}.jpg"
            for name in ("before", "during", "after", "overview")
        },
        "clip": f"clips/{camera}-20260612T191400Z-531-424.mp4",
    }


if __name__ == "__main__":
    main()
