"""A record written before there was any incubation goes on, with all that it holds."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from nestwatch.season import journal, migrations
from nestwatch.season.clutches import clutches
from nestwatch.season.digs import dig_called
from nestwatch.season.finds import enter_find
from nestwatch.season.incubation.containers import add_container, containers
from nestwatch.season.incubation.eggs import put_eggs
from tests.incubation.seasons import a_site
from tests.season.older import written_by_version
from tests.season.records import MORNING, NIGHT, dig_entry, record_in, scanned


def test_a_first_version_record_goes_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with written_by_version(1, monkeypatch), record_in(tmp_path, MORNING) as record:
        scanned(record, tmp_path, [dig_entry()])
        enter_find(record, a_site(tmp_path), dig_called(record, NIGHT, "1"), "eggs")
    with record_in(tmp_path, MORNING) as record:
        (clutch,) = clutches(record)
        add_container(record, a_site(tmp_path), "A1", {})
        put_eggs(record, clutch, "A1", 9)
        journal.undo(record)
        assert [box.label for box in containers(record)] == ["A1"]
    assert list((tmp_path / "record-backups").iterdir()), "copied before it was changed"
    with sqlite3.connect(tmp_path / "record.sqlite") as file:
        assert file.execute("PRAGMA user_version").fetchone()[0] == migrations.newest()
    file.close()
