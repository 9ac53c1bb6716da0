"""Files that are locked, read-only, damaged, newer or lost, a full or vanished disk: words, and no loss."""

from __future__ import annotations

import os
import sqlite3
import threading
from contextlib import closing, suppress
from datetime import timedelta
from pathlib import Path

import pytest

from nestwatch.errors import RecordError
from nestwatch.season import migrations
from nestwatch.season import open as opening
from nestwatch.season.backups import FOLDER, backups, is_whole, restore, to_forget
from nestwatch.season.females import add_female, females
from nestwatch.season.open import Record, open_record
from nestwatch.site.records import Site
from tests.season.records import MORNING, record_in, site_in

NAMES = ["Ada", "Bea", "Cleo"]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A record with three females, and a copy of it with the first two."""
    with record_in(tmp_path) as record:
        for name in NAMES:
            if name == "Cleo":
                record.back_up("night")
            add_female(record, site_in(tmp_path), name, {})
        return record.path


def opened_error(folder: Path) -> str:
    with pytest.raises(RecordError) as caught:
        record_in(folder)
    return str(caught.value)


def test_how_the_file_is_written(path: Path, tmp_path: Path) -> None:
    """sqlite.org/pragma.html: synchronous 3 is EXTRA; user_version counts our migrations."""
    with record_in(tmp_path) as record:
        answers = {
            name: record.rows(f"PRAGMA {name}")[0][0]
            for name in ("journal_mode", "synchronous", "foreign_keys", "user_version", "busy_timeout")
        }
    assert answers == {
        "journal_mode": "delete",
        "synchronous": 3,
        "foreign_keys": 1,
        "user_version": len(list((Path(migrations.__file__).parent / "schema").glob("*.sql"))),
        "busy_timeout": 10000,
    }


def test_a_locked_file(path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "WAIT_S", 0.05)
    with closing(sqlite3.connect(path, isolation_level=None)) as other, record_in(tmp_path) as record:
        other.execute("BEGIN IMMEDIATE")
        assert len(females(record)) == 3, "reading goes on"
        with pytest.raises(RecordError) as caught:
            add_female(record, site_in(tmp_path), "Dora", {})
        other.execute("ROLLBACK")
        add_female(record, site_in(tmp_path), "Dora", {})
    assert str(caught.value) == (
        f"{path} is in use by another program; close other nestwatch windows, wait a moment and try again. "
        "What was being entered was not taken; all that was confirmed before is safe."
    )


def test_a_read_only_file_can_be_read(path: Path, tmp_path: Path) -> None:
    """query_only makes SQLite answer SQLITE_READONLY, also to the super-user, whom file modes do not stop."""
    with record_in(tmp_path) as record:
        record.rows("PRAGMA query_only = ON")
        assert len(females(record)) == 3
        with pytest.raises(RecordError, match="is read-only; allow writing to the file and its folder"):
            add_female(record, site_in(tmp_path), "Dora", {})


def test_a_full_disk_loses_only_what_was_not_confirmed(path: Path, tmp_path: Path) -> None:
    """A limit of pages makes SQLite answer SQLITE_FULL as a full disk does."""
    site = site_in(tmp_path)
    with record_in(tmp_path) as record:
        pages = record.rows("PRAGMA page_count")[0][0]
        record.rows(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(RecordError, match="cannot grow: the disk is full; free some space"):
            _fill(record, site)
        kept = {each.name for each in females(record)}
    with record_in(tmp_path) as record:
        assert {each.name for each in females(record)} == kept
        assert set(NAMES) <= kept
        add_female(record, site, "after space was freed", {})
    assert is_whole(path)


def test_a_folder_that_vanishes(path: Path, tmp_path: Path) -> None:
    """A stick pulled out while the record is open: told, and going on when it is back."""
    folder = tmp_path / "stick"
    folder.mkdir()
    with record_in(folder) as record:
        add_female(record, site_in(folder), "Ada", {})
        folder.rename(tmp_path / "away")
        with pytest.raises(RecordError, match=r"stick is gone; connect its disk"):
            add_female(record, site_in(folder), "Bea", {})
    (tmp_path / "away").rename(folder)
    with record_in(folder) as record:
        assert [each.name for each in females(record)] == ["Ada"]


def _fill(record: Record, site: Site) -> None:
    for number in range(500):
        add_female(record, site, f"F{number}", {"note": "x" * 2000})


@pytest.mark.parametrize("where", ["head", "middle", "cut"])
def test_a_damaged_file_is_kept_and_the_copy_named(path: Path, tmp_path: Path, where: str) -> None:
    content = bytearray(path.read_bytes())
    if where == "head":
        content[:100] = b"x" * 100
    elif where == "middle":
        content[4096:] = b"\xff" * (len(content) - 4096)
    else:
        del content[len(content) // 2 + 100 :]
    path.write_bytes(content)
    (copy,) = backups(path)
    message = opened_error(tmp_path)
    assert f"{path} is damaged" in message
    assert message.endswith(
        f"Nothing was changed. The newest whole copy is {copy.name}; to go on with it: nestwatch record SITE "
        f"--restore {copy.name}"
    )
    assert path.read_bytes() == content
    aside = restore(path, copy, MORNING)
    with record_in(tmp_path) as record:
        assert [each.name for each in females(record)] == ["Ada", "Bea"]
    assert aside is not None
    assert aside.read_bytes() == content, "the damaged file is set aside, not lost"


def test_a_damaged_copy_is_not_offered(path: Path, tmp_path: Path) -> None:
    with record_in(tmp_path, MORNING + timedelta(hours=1)) as record:
        newer = record.back_up("night")
    older = backups(path)[1]
    newer.write_bytes(newer.read_bytes()[:9000])
    path.write_bytes(b"rubbish" * 1000)
    assert older.name in opened_error(tmp_path)
    older.unlink()
    assert f"{FOLDER} holds no whole copy of it. Keep the file" in opened_error(tmp_path)
    with pytest.raises(RecordError, match="is damaged too, or is no record; choose another backup"):
        restore(path, newer, MORNING)


@pytest.mark.parametrize("left", [None, b""])
def test_a_lost_record_is_not_silently_begun_anew(path: Path, tmp_path: Path, left: bytes | None) -> None:
    path.unlink()
    if left is not None:
        path.write_bytes(left)
    message = opened_error(tmp_path)
    assert f"is {'gone' if left is None else 'empty'}, but {FOLDER} holds copies of it." in message
    assert message.endswith(f"To begin a new record instead, move {FOLDER} away.")
    assert path.exists() == (left is not None)


def test_a_newer_record_and_another_programs_file(path: Path, tmp_path: Path) -> None:
    with closing(sqlite3.connect(path)) as file:
        file.execute("PRAGMA user_version = 99")
    before = path.read_bytes()
    assert "was written by a newer nestwatch (record version 99, this one knows up to" in opened_error(
        tmp_path
    )
    with closing(sqlite3.connect(path)) as file:
        file.execute("PRAGMA application_id = 1")
    assert "is a database of another program; move it away and run again" in opened_error(tmp_path)
    assert len(path.read_bytes()) == len(before)


@pytest.fixture
def newer_program(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """A program with one more migration."""
    scripts = [*migrations._scripts(), "ALTER TABLE female ADD COLUMN colour TEXT;\n"]
    monkeypatch.setattr(migrations, "_scripts", lambda: scripts)
    return scripts


def test_an_older_record_is_backed_up_and_brought_up_to_date(
    path: Path, tmp_path: Path, newer_program: list[str]
) -> None:
    with record_in(tmp_path, MORNING + timedelta(days=1)) as record:
        assert [each.name for each in females(record)] == NAMES
        with record.writing("colour") as writer:
            writer.change("female", 1, {"colour": "dark"})
        kept = record.row("SELECT before FROM change ORDER BY id DESC")
    assert kept is not None
    assert '"colour":null' in kept["before"], "the journal knows the new column"
    copy = backups(path)[0]
    assert copy.name.endswith("-migration.sqlite")
    with closing(sqlite3.connect(copy)) as old:
        assert old.execute("PRAGMA user_version").fetchone()[0] == len(newer_program) - 1


def test_a_migration_that_fails_leaves_the_old_version(
    path: Path, tmp_path: Path, newer_program: list[str]
) -> None:
    newer_program.append("CREATE TABLE other (id INTEGER) STRICT;\nINSERT INTO nowhere VALUES (1);\n")
    with pytest.raises(sqlite3.OperationalError):
        record_in(tmp_path)
    del newer_program[-2:]
    with record_in(tmp_path) as record:
        assert [each.name for each in females(record)] == NAMES
        assert record.rows("SELECT 1 FROM sqlite_schema WHERE name = 'other'") == []


def test_statements_with_triggers_and_comments() -> None:
    script = "-- one; two\nCREATE TABLE a (b);\nCREATE TRIGGER c AFTER INSERT ON a BEGIN\n SELECT 1;\nEND;\n"
    assert [each.split()[-1] for each in migrations.statements(script)] == ["(b);", "END;"]
    with pytest.raises(ValueError, match="ends inside a statement"):
        list(migrations.statements("CREATE TABLE a (b)"))


def test_many_at_once_make_one_record(tmp_path: Path) -> None:
    """Eight connections find no file at the same moment, and all enter."""
    gate, errors = threading.Barrier(8), []

    def enter(number: int) -> None:
        gate.wait()
        try:
            with open_record(site_in(tmp_path)) as record:
                add_female(record, site_in(tmp_path), f"F{number}", {})
        except RecordError as error:
            errors.append(error)

    threads = [threading.Thread(target=enter, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with record_in(tmp_path) as record:
        assert [each.name for each in females(record)] == [f"F{number}" for number in range(8)]
    assert errors == []


def test_tables_made_by_another_process_while_the_file_is_looked_at(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What it read before they were there and what it reads after do not make it another program's file."""
    asked: list[str] = []

    def connected(path: Path) -> sqlite3.Connection:
        connection = sqlite3.connect(path, isolation_level=None)

        def make_the_tables(statement: str) -> None:
            asked.append(statement)
            if "sqlite_schema" in statement and asked.count(statement) == 1:
                other = sqlite3.connect(path, timeout=0, isolation_level=None)
                with closing(other), suppress(sqlite3.OperationalError):
                    migrations.migrate(other)

        connection.row_factory = sqlite3.Row
        connection.set_trace_callback(make_the_tables)
        return connection

    monkeypatch.setattr(opening, "_connected", connected)
    with record_in(tmp_path) as record:
        assert females(record) == ()
    assert any("sqlite_schema" in each for each in asked)


def test_which_copies_are_kept() -> None:
    """14 newest, and the last of each of 12 months."""
    days = [
        f"record-2026{month:02d}{day:02d}T040000000000Z-night.sqlite"
        for month in range(12, 0, -1)
        for day in (28, 9, 2)
    ]
    gone = to_forget([*days, "record-20251231T040000000000Z-night.sqlite"])
    kept = [name for name in days if name not in gone]
    assert kept[:14] == days[:14]
    assert [name[11:15] for name in kept[14:]] == [f"{month:02d}28" for month in range(7, 0, -1)]
    assert gone[-1].startswith("record-2025")


def test_damage_that_shows_later_names_the_copy_too(path: Path, tmp_path: Path) -> None:
    """A page that made the check once opens without it; what it then meets is told as well."""
    with closing(sqlite3.connect(path)) as file:
        roots = file.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'female'").fetchall()
        size = file.execute("PRAGMA page_size").fetchone()[0]
    content = bytearray(path.read_bytes())
    for (root,) in roots:
        content[(root - 1) * size : root * size] = b"\xff" * size
    path.write_bytes(content)
    (copy,) = backups(path)
    with open_record(site_in(tmp_path), check_damage=False) as record, pytest.raises(RecordError) as caught:
        females(record)
    assert f"nestwatch record SITE --restore {copy.name}" in str(caught.value)


def test_a_half_copy_of_a_killed_process_goes_after_a_day(path: Path, tmp_path: Path) -> None:
    old, fresh = (tmp_path / FOLDER / f".record-{name}.sqlite.1.part" for name in ("old", "fresh"))
    for half, hours in ((old, 25), (fresh, 1)):
        half.write_bytes(b"half")
        at = (MORNING - timedelta(hours=hours)).timestamp()
        os.utime(half, (at, at))
    with record_in(tmp_path) as record:
        record.back_up("night")
    assert (old.exists(), fresh.exists()) == (False, True)
