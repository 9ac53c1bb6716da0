"""The exported calendar, read back by another library (vobject)."""

from __future__ import annotations

from pathlib import Path

import pytest
import vobject

from nestwatch.errors import OutputError
from nestwatch.season.export.write import CALENDAR, write_calendar
from nestwatch.season.incubation.containers import add_container
from nestwatch.season.incubation.eggs import put_eggs
from nestwatch.season.open import Record
from nestwatch.site.records import Site
from tests.incubation.seasons import a_season, a_site
from tests.season.records import record_in


def boxed(folder: Path) -> tuple[Record, Site]:
    """The season's record, open, with its nine eggs in a box."""
    record, clutch = a_season(folder)
    site = a_site(folder)
    add_container(record, site, "A1", {})
    put_eggs(record, clutch, "A1", 9)
    return record, site


def test_the_calendar_holds_what_is_to_come_and_keeps_its_uids(tmp_path: Path) -> None:
    record, site = boxed(tmp_path)
    with record:
        done = write_calendar(record, site, tmp_path / "ics")
        first = _uids(tmp_path / "ics" / CALENDAR)
        write_calendar(record, site, tmp_path / "ics", replace=True)
    assert done.rows == {"events": len(first)}
    assert len(first) >= 2
    assert _uids(tmp_path / "ics" / CALENDAR) == first


def test_a_calendar_that_is_there_is_kept(tmp_path: Path) -> None:
    record, site = boxed(tmp_path)
    with record:
        write_calendar(record, site, tmp_path / "ics")
        with pytest.raises(OutputError, match=r"holds nestwatch\.ics already"):
            write_calendar(record, site, tmp_path / "ics")


def test_nothing_to_come_is_no_file_and_no_stale_one(tmp_path: Path) -> None:
    site, record = a_site(tmp_path), record_in(tmp_path)
    (tmp_path / "ics").mkdir()
    (tmp_path / "ics" / CALENDAR).write_text("of an earlier export")
    with record:
        done = write_calendar(record, site, tmp_path / "ics", replace=True)
    assert (done.rows, len(done.notes)) == ({"events": 0}, 1)
    assert not (tmp_path / "ics" / CALENDAR).exists()


def _uids(path: Path) -> set[str]:
    return {event.uid.value for event in vobject.readOne(path.read_text(encoding="utf-8")).vevent_list}
