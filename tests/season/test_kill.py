"""Killed at random moments while entering: every confirmed entry is there, and the file is sound."""

from __future__ import annotations

import random
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path
from zoneinfo import ZoneInfo

from nestwatch.season.open import open_file

KILLS = 50
ROOT = Path(__file__).resolve().parents[2]


def entered_until_killed(path: Path, prefix: str, after_s: float) -> list[str]:
    """Names that a process confirmed before it was killed `after_s` seconds after its first one."""
    command = [sys.executable, "-m", "tests.season.enter_until_killed", str(path), prefix]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=ROOT) as process:
        assert process.stdout is not None
        first = process.stdout.readline()
        time.sleep(after_s)
        process.kill()
        lines = (first + process.stdout.read()).split("\n")
    return lines[:-1]  # what comes after the last line end was not confirmed in full


def test_fifty_kills(tmp_path: Path) -> None:
    path, draw = tmp_path / "record.sqlite", random.Random(7)
    confirmed: list[str] = []
    for number in range(KILLS):
        names = entered_until_killed(path, f"run{number}", draw.uniform(0.0, 0.06))
        assert names, "each run confirms something before it dies"
        confirmed += names
        with closing(sqlite3.connect(path)) as file:
            assert file.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    with open_file(path, ZoneInfo("Europe/Paris")) as record:
        rows = record.rows("SELECT name, marks FROM female")
        half = record.rows("SELECT 1 FROM action WHERE under_way = 1")
        changes = record.rows("SELECT count(*) FROM change")[0][0]
    assert set(confirmed) <= {row["name"] for row in rows}
    assert all(row["name"] == row["marks"] for row in rows), "an entry is there in full or not at all"
    assert half == []
    assert changes == 2 * len(rows)
    assert len(rows) - len(confirmed) <= KILLS, "at most the last entry of each run was written but not told"
