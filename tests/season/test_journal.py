"""Every change is kept with what was there before, and can be taken back."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from nestwatch.errors import EntryError
from nestwatch.season.clutches import change_clutch, clutch_of
from nestwatch.season.digs import dig_called
from nestwatch.season.females import add_female, change_female, females
from nestwatch.season.finds import enter_find
from nestwatch.season.journal import actions, finds_history, history, undo
from nestwatch.season.migrations import JOURNALLED, columns
from nestwatch.season.open import Record
from nestwatch.season.records import Dig, Eggs
from tests.season.records import MORNING, NIGHT, dig_entry, record_in, scanned, site_in


def the_dig(record: Record) -> Dig:
    return dig_called(record, NIGHT, "1")


def contents(record: Record) -> dict[str, list[tuple[object, ...]]]:
    """All that the journalled tables hold, without the counts of changes."""
    return {
        table: [
            tuple(value for name, value in zip(row.keys(), row, strict=True) if name != "version")
            for row in record.rows(f"SELECT * FROM {table} ORDER BY id")
        ]
        for table in JOURNALLED
    }


def test_each_change_with_its_time_and_what_was_before(tmp_path: Path) -> None:
    site = site_in(tmp_path)
    with record_in(tmp_path) as record:
        scanned(record, tmp_path, [dig_entry()])
        enter_find(record, site, the_dig(record), "not-yet", why="rain")
        enter_find(record, site, the_dig(record), "empty")
        changes = finds_history(record, the_dig(record).id)
    assert [(change.action.at, change.entry) for change in changes] == [(MORNING, "find")] * 2
    assert changes[0].values["found"] == (None, "not-yet")
    assert changes[1].values == {"found": ("not-yet", "empty"), "why": ("rain", None)}


def test_taking_everything_back_in_order_leaves_what_was_there_at_first(tmp_path: Path) -> None:
    site = site_in(tmp_path)
    with record_in(tmp_path) as record:
        scanned(record, tmp_path, [dig_entry()])
        steps: list[Callable[[], object]] = [
            lambda: add_female(record, site, "Ada", {"shell_length_cm": 16.123456789}),
            lambda: enter_find(record, site, the_dig(record), "eggs", eggs=Eggs(whole=9)),
            lambda: change_clutch(record, site, the_dig(record), {"female": "Ada", "cracked": 1}),
            lambda: change_female(record, site, "Ada", {"marks": "left 2"}),
            lambda: change_clutch(record, site, the_dig(record), {"whole": 8}),
        ]
        states = [contents(record)]
        for step in steps:
            step()
            states.append(contents(record))
        for before in reversed(states[:-1]):
            undo(record)
            assert contents(record) == before
        with pytest.raises(EntryError, match="there is no entry to take back"):
            undo(record)


def test_taking_back_can_itself_be_taken_back(tmp_path: Path) -> None:
    site = site_in(tmp_path)
    with record_in(tmp_path) as record:
        scanned(record, tmp_path, [dig_entry()])
        enter_find(record, site, the_dig(record), "eggs", eggs=Eggs(whole=9))
        whole = contents(record)
        undo(record)
        assert the_dig(record).find is None
        undo(record, actions(record)[0].id)
        assert contents(record) == whole
        assert [action.undone for action in actions(record)] == [False, True, False, False]
        assert undo(record).words == "2026-06-12 dig 1: eggs", (
            "it stands again, so it can be taken back again"
        )


def test_what_later_entries_changed_is_not_taken_back(tmp_path: Path) -> None:
    site = site_in(tmp_path)
    with record_in(tmp_path) as record:
        scanned(record, tmp_path, [dig_entry()])
        add_female(record, site, "Ada", {})
        ada = actions(record)[0].id
        enter_find(record, site, the_dig(record), "empty")
        first = actions(record)[0].id
        enter_find(record, site, the_dig(record), "eggs")
        change_clutch(record, site, the_dig(record), {"female": "Ada"})
        before = contents(record)
        with pytest.raises(EntryError, match=f"was changed since by entry {first + 1}; take that back first"):
            undo(record, first)
        with pytest.raises(EntryError, match="cannot be taken back: later entries rest on it"):
            undo(record, ada)
        with pytest.raises(EntryError, match="is a scan of a night; scan the night again instead"):
            undo(record, 1)
        with pytest.raises(EntryError, match="there is no entry 99"):
            undo(record, 99)
        assert contents(record) == before
        undo(record)
        undo(record, ada)
        assert females(record) == ()


def test_an_entry_made_again_after_undo_is_another_entry(tmp_path: Path) -> None:
    """A number is never used twice, so histories of two entries never mix."""
    site = site_in(tmp_path)
    with record_in(tmp_path) as record:
        scanned(record, tmp_path, [dig_entry()])
        first = enter_find(record, site, the_dig(record), "empty").find
        undo(record)
        second = enter_find(record, site, the_dig(record), "eggs").find
        assert first is not None
        assert second is not None
        assert first.id != second.id
        assert [change.values["found"] for change in history(record, "find", first.id)] == [
            (None, "empty"),
            ("empty", None),
        ]
        clutch = clutch_of(record, the_dig(record).id)
        assert clutch is not None


def test_nothing_can_be_written_past_the_journal(tmp_path: Path) -> None:
    with record_in(tmp_path) as record:
        scanned(record, tmp_path, [dig_entry()])
        path = record.path
    bare = sqlite3.connect(path)
    try:
        with pytest.raises(sqlite3.IntegrityError, match=r"change\.action"):
            bare.execute("UPDATE dig SET likelihood = 0")
        watched = {
            row[0].rsplit("_", 2)[0]
            for row in bare.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'")
        }
        tables = {row[0] for row in bare.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
        strict = {row[1]: row[5] for row in bare.execute("PRAGMA table_list")}
        kept = bare.execute("SELECT sql FROM sqlite_schema WHERE name = 'dig_update_kept'").fetchone()[0]
        names = columns(bare, "dig")
    finally:
        bare.close()
    assert watched == set(JOURNALLED) == tables - {"action", "change", "sqlite_sequence"}
    assert all(strict[table] for table in tables - {"sqlite_sequence"})
    assert all(f"OLD.{name}" in kept for name in names)
