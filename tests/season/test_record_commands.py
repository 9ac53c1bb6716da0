"""The commands on the record: whole output and exit codes."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from nestwatch.commands import night_record, record_context
from nestwatch.commands.main import main
from nestwatch.season.open import NAME
from tests.commands.fakes import Job
from tests.season.records import MORNING, dig_entry, site_in, written_night
from tests.season.running import Run, runner, told
from tests.site.sites import written

DIG = "2026-06-12 dig 1: Nest, very likely (93 %), 21:14–23:18"
PLACE = "plan x 2.70 m, y 0.72 m, within 6 cm"


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run a command on a site with one scanned night, at 07:00 the next morning."""
    monkeypatch.setattr(record_context, "now", lambda: MORNING)
    site = written(tmp_path)
    written_night(tmp_path, [dig_entry()])
    return runner(site)


def refused(result: Result) -> str:
    assert (result.exit_code, result.stdout) == (2, "")
    return result.stderr


def test_a_morning(run: Run) -> None:
    waiting = f"{DIG}; laid about 21:14–23:18, 9 h 46 min ago; {PLACE}\n"
    assert told(run("find")) == f"Still to be settled: 1 dig.\n{waiting}"
    assert told(run("find", "2026-06-12")) == (
        f"Night of 2026-06-12: 1 dig.\nsandbank: read 8 h of 9 h of nesting time\n{waiting}"
    )
    assert told(run("find", "2026-06-12", "1", "--found", "eggs", "--eggs", "9")) == (
        f"{DIG}; eggs; {PLACE}\n"
        "  clutch: 9 eggs: 9 whole; female not known; laid 2026-06-12 21:14 (by the dig); not lifted yet\n"
    )
    assert told(run("female", "Ada", "--new", "--marks", "left 2", "--shell-length", "16.4")) == (
        "Ada: left 2; 16.4 cm; 0 clutches\n"
    )
    clutch = ("clutch", "2026-06-12", "1", "--female", "ada", "--lifted", "06:30", "--whole", "8")
    line = (
        "2026-06-12 dig 1: 9 eggs: 8 whole, 1 cracked; of Ada; laid 2026-06-12 21:14 (by the dig); "
        "lifted 2026-06-13 06:30\n"
    )
    assert told(run(*clutch, "--cracked", "1")) == line
    assert told(run("clutch")) == line
    assert told(run("find")) == "Every dig of the record is settled.\n"
    assert told(run("find", "2026-06-12", "1", "--history")) == (
        "2026-06-12 dig 1: 4 changes\n"
        "2  2026-06-13 07:00  clutch: begun\n"
        "2  2026-06-13 07:00  clutch: whole nothing -> 9\n"
        "2  2026-06-13 07:00  find: found nothing -> eggs\n"
        "4  2026-06-13 07:00  clutch: female nothing -> Ada, lifted_at nothing -> 2026-06-13 06:30, "
        "whole 9 -> 8, cracked nothing -> 1\n"
    )


def test_what_waits_keeps_its_hours_and_says_why(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    told(run("find", "2026-06-12", "1", "--found", "not-yet", "--why", "rain"))
    monkeypatch.setattr(record_context, "now", lambda: datetime(2026, 6, 16, 5, tzinfo=UTC))
    assert told(run("find")) == (
        "Still to be settled: 1 dig.\n"
        f"{DIG}; laid about 21:14–23:18, 3 days ago; not dug yet (rain); {PLACE}\n"
    )


def test_taking_back(run: Run) -> None:
    told(run("find", "2026-06-12", "1", "--found", "empty"))
    assert told(run("undo", "--list")) == (
        "2  2026-06-13 07:00  2026-06-12 dig 1: empty\n1  2026-06-13 07:00  scan of 2026-06-12: 1 dig\n"
    )
    assert told(run("undo")) == "Taken back: 2026-06-12 dig 1: empty\n"
    assert told(run("find")).startswith("Still to be settled: 1 dig.\n")
    assert told(run("undo", "--entry", "3")) == "Taken back: taken back: 2026-06-12 dig 1: empty\n"
    assert refused(run("undo", "--entry", "1")) == (
        "nestwatch: entry 1 is a scan of a night; scan the night again instead.\n"
    )


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (
            ("find", "2026-06-12", "1", "--found", "eggs", "--eggs", "12000"),
            "12000 whole eggs cannot be; give a number from 0 to 300.",
        ),
        (
            ("find", "2026-06-12", "7", "--found", "empty"),
            'the night of 2026-06-12 has no dig "7"; it has 1.',
        ),
        (
            ("find", "2026-06-14"),
            "the record has no night of 2026-06-14 (the last one before it is 2026-06-12); watch it with "
            "nestwatch night SITE --date 2026-06-14, or add a dig that you saw with nestwatch dig SITE",
        ),
        (
            ("clutch", "2026-06-12", "1", "--lifted", "20:00"),
            "eggs cannot be lifted before they are laid (laid, by the dig: 2026-06-12 21:14); change one of",
        ),
        (
            ("clutch", "2026-06-12", "1", "--female", "Ada"),
            'there is no female "Ada"; add her with nestwatch',
        ),
        (("female", "Ada", "--new", "--photograph", "site.toml"), "site.toml: cannot be read"),
    ],
)
def test_bad_input_is_one_line(run: Run, arguments: tuple[str, ...], words: str) -> None:
    line = refused(run(*arguments))
    assert line.startswith(f"nestwatch: {words}")
    assert line.count("\n") == 1


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("find", "--found", "empty"), "say which dig: nestwatch find SITE NIGHT DIG --found ..."),
        (("find", "2026-06-12", "1", "--why", "rain"), "--why and --eggs go with --found."),
        (("clutch", "2026-06-12"), "say which dig: nestwatch clutch SITE NIGHT DIG ..."),
        (("female", "--new"), "say which female: nestwatch female SITE NAME ..."),
        (("watched", "2026-06-12"), "give the night with both times"),
        (("find", "12 June"), '"12 June" is not a date'),
        (
            ("dig", "2026-06-12", "--how", "eye", "--from", "21:00", "--to", "22:00", "--pixel", "a"),
            '"a" is no place; write two numbers, such as 531,424.',
        ),
        (("record", "--restore", "x"), 'record-backups holds no copy "x"; it holds none.'),
    ],
)
def test_usage(run: Run, arguments: tuple[str, ...], words: str) -> None:
    assert words in " ".join(refused(run(*arguments)).split())


def test_a_season_by_eye(run: Run) -> None:
    assert told(run("watched", "2026-06-11", "--from", "20:30", "--to", "23:30", "--by", "Noor")) == (
        "2026-06-11 20:30–23:30, all pens, by Noor\n"
    )
    assert told(run("watched")) == "2026-06-11 20:30–23:30, all pens, by Noor\n"
    seen = ("dig", "2026-06-11", "--how", "eye", "--from", "21:00", "--to", "22:30", "--plan", "1.5,2.0")
    assert told(run(*seen)) == (
        "2026-06-11 dig A: Seen by eye, 21:00–22:30; laying was not told apart; dug 34 h ago; plan x 1.50 m, "
        "y 2.00 m\n"
    )
    assert told(run("find", "2026-06-11")).splitlines()[:2] == [
        "Night of 2026-06-11: 1 dig.",
        "This night was not scanned: what the cameras saw of it is not known.",
    ]


def test_json(run: Run) -> None:
    told(run("find", "2026-06-12", "1", "--found", "eggs"))
    (dig,) = json.loads(told(run("find", "2026-06-12", "--json")))
    assert (dig["label"], dig["start"], dig["find"]["found"]) == ("1", "2026-06-12T21:14:00+02:00", "eggs")
    (clutch,) = json.loads(told(run("clutch", "--json")))
    assert clutch["eggs"] == {"whole": None, "dented": None, "cracked": None, "broken": None}


def test_a_damaged_record_and_the_way_back(run: Run, tmp_path: Path) -> None:
    told(run("find", "2026-06-12", "1", "--found", "empty"))
    path = tmp_path / NAME
    (copy,) = (tmp_path / "record-backups").iterdir()
    path.write_bytes(b"rubbish" * 999)
    broken = run("find")
    assert (broken.exit_code, broken.stdout) == (1, "")
    assert f"nestwatch record SITE --restore {copy.name}" in broken.stderr
    assert told(run("record", "--restore", copy.name)) == (
        f"The record is now {copy.name}.\n"
        f"The file before it was kept as {tmp_path / 'record-set-aside-20260613T050000Z.sqlite'}.\n"
    )
    assert told(run("find")).startswith("Still to be settled: 1 dig.\n")
    assert told(run("record")) == (
        f"{path}: sound\nnights 1, digs 1, finds 0, clutches 0, females 0\n"
        f"Copies, the newest first: {copy.name}\n"
    )


def test_a_scan_since_is_taken_in_and_told(run: Run, tmp_path: Path) -> None:
    told(run("find", "2026-06-12", "1", "--found", "eggs"))
    written_night(tmp_path, [dig_entry(1, "20:00", "20:40", (0.5, 2.5)), dig_entry(2)])
    result = run("find", "2026-06-12", "2")
    assert result.stderr == (
        "Compared with what the record had of 2026-06-12: 1 dig as before, 1 new.\nDig 1 is now called 2.\n"
    )
    assert result.stdout.splitlines()[1] == "  Before the night was scanned again, this was dig 1."


def test_a_record_that_cannot_be_written_to_can_be_read(run: Run, tmp_path: Path) -> None:
    told(run("find"))
    written_night(tmp_path, [dig_entry(), dig_entry(2, "20:00", "20:40", (0.5, 2.5))])
    with closing(sqlite3.connect(tmp_path / NAME, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        from nestwatch.season import open as opening

        before, opening.WAIT_S = opening.WAIT_S, 0.05
        try:
            result = run("find")
        finally:
            opening.WAIT_S = before
    assert result.exit_code == 0
    assert result.stdout.startswith("Still to be settled: 1 dig.\n")
    assert result.stderr.startswith("Nights scanned since cannot be taken into the record: ")


def test_a_night_goes_into_the_record_of_its_site(tmp_path: Path) -> None:
    """In a folder of its own only where there is a record already."""
    site, out = site_in(tmp_path), tmp_path / "elsewhere"
    written_night(tmp_path, [dig_entry()])
    night_record.enter_nights(site, out)
    assert not (tmp_path / NAME).exists()
    assert night_record.known_nests(site, MORNING.date()) == []
    night_record.enter_nights(site, None)
    assert [each.name for each in night_record.known_nests(site, MORNING.date())] == [
        "the nest of 2026-06-12"
    ]


def test_the_night_command_enters_its_night_and_knows_earlier_nests(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job, site = Job().install(monkeypatch), written(tmp_path)
    written_night(tmp_path, [dig_entry()])
    for night in ("2026-06-12", "2026-06-13"):
        assert CliRunner().invoke(main, ["night", str(site), "--date", night]).exit_code == 0
    first, second = (call[3]["known_nests"] for call in job.calls)
    assert first == []
    assert [(each.name, each.pen, each.plan_m) for each in second] == [
        ("the nest of 2026-06-12", "sand pen", (2.70, 0.72))
    ]


def test_a_record_in_trouble_stops_no_night(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / NAME).write_bytes(b"rubbish" * 999)
    night_record.enter_nights(site_in(tmp_path), None)
    assert night_record.known_nests(site_in(tmp_path), MORNING.date()) == []
    first, second = capsys.readouterr().err.splitlines()
    assert first.startswith("The night is done, but not in the season's record yet: ")
    assert second.startswith("Nests of earlier nights are not watched over: ")
