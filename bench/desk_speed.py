"""How long the desk's pages take, and how large they are, in a season and in a week.

    python -m bench.desk_speed [--nights 120] [--cameras 4] [--digs 30]

Makes the record of `bench.record_speed`, and one of seven nights, and asks for each page nine times: opening
the record with its check, looking for night files scanned since, rendering. Prints median, worst and size.
The system's cache is warm.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from flask.testing import FlaskClient

from bench.record_speed import FIRST, RUNS, _fill, _options
from nestwatch.desk.guard import Guard
from nestwatch.desk.morning import morning_app
from nestwatch.season.open import open_record
from nestwatch.site.records import Site
from tests.marking.nights import a_site

HOST = "127.0.0.1:8123"


def main() -> None:
    """Make both records, time the pages, print."""
    options = _options()
    for nights in (7, options.nights):
        with tempfile.TemporaryDirectory() as folder:
            print(f"{nights} nights x {options.cameras} cameras x {options.digs} digs")
            _time_pages(Path(folder), nights, options.cameras, options.digs)


def _time_pages(folder: Path, nights: int, cameras: int, digs: int) -> None:
    site = replace(a_site(), path=folder / "site.toml")
    _fill(site, nights, cameras, digs)
    _mend(site)
    last = FIRST + timedelta(days=nights - 1)
    morning = datetime(last.year, last.month, last.day, tzinfo=UTC) + timedelta(days=1, hours=8)
    guard = Guard({HOST})
    client = morning_app(site, folder / "nights", clock=lambda: morning)(guard).test_client()
    client.get(f"/start?token={guard.start_token}", base_url=f"http://{HOST}")
    for path in ("/", f"/night/{FIRST}", f"/nights/{last:%Y-%m}", "/entries"):
        spent, size = zip(*(_timed(client, path) for _ in range(RUNS)), strict=True)
        times = f"median {statistics.median(spent):.3f} s, worst {max(spent):.3f} s"
        print(f"  {path}: {times}, {size[0] / 1e3:.0f} kB")


def _mend(site: Site) -> None:
    """Each night its own end, and no gaps: the fixture has one end for all, and gaps without times."""
    with open_record(site) as record, record.writing("ends of nights") as writer:
        writer.run("UPDATE footage SET gaps = '[]', health = '[]'", ())
        writer.run(
            "UPDATE night SET ends_at = date(date, '+1 day') || 'T07:00:00Z', "
            "nesting_to = date(date, '+1 day') || 'T01:00:00Z'",
            (),
        )


def _timed(client: FlaskClient, path: str) -> tuple[float, int]:
    start = time.perf_counter()
    answer = client.get(path, base_url=f"http://{HOST}")
    assert answer.status_code == 200, answer.text
    return time.perf_counter() - start, len(answer.data)


if __name__ == "__main__":
    main()
