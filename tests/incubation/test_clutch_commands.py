"""`nestwatch clutch …` from the box to the hatchling: whole output and exit codes."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from nestwatch.commands import record_context
from nestwatch.commands.main import main
from tests.season.records import dig_entry, written_night
from tests.site.sites import GOOD


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "site.toml"
    path.write_text(GOOD, encoding="utf-8")
    written_night(tmp_path, [dig_entry()])
    at(monkeypatch, datetime(2026, 6, 13, 5, 0, tzinfo=UTC))
    ran(path, "eggs", "2026-06-12", "1", "--whole", "9")
    return path


def at(monkeypatch: pytest.MonkeyPatch, now: datetime) -> None:
    monkeypatch.setattr(record_context, "now", lambda: now)


def clutch(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["clutch", *arguments])


def ran(site: Path, command: str, *arguments: str) -> str:
    """The answer of a command that must succeed."""
    result = clutch(command, str(site), *arguments)
    assert result.exit_code == 0, result.output
    return result.stdout


def refused(site: Path, command: str, *arguments: str) -> str:
    """The one line on stderr of an entry that must be refused."""
    result = clutch(command, str(site), *arguments)
    assert (result.exit_code, result.stdout) == (2, "")
    return result.stderr


def test_the_plain_command_still_lists_clutches(site: Path) -> None:
    short, long = clutch(str(site)), clutch("eggs", str(site))
    assert short.stdout == long.stdout
    assert short.stdout.startswith("2026-06-12 dig 1: 9 eggs: 9 whole;")
    assert clutch(str(site), "--json").stdout == clutch("eggs", str(site), "--json").stdout
    assert "container" in clutch("--help").stdout


def test_from_the_box_to_the_hatchling(site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert ran(
        site, "container", "A1", "--new", "--medium", "vermiculite", "--dry", "300", "--water", "337"
    ) == ("A1: vermiculite, 300 g with 337 g of water (1.12 : 1)\n")
    assert ran(site, "place", "2026-06-12", "1", "A1", "--eggs", "9", "--top-marked").splitlines()[:2] == [
        "Box A1: 9 eggs",
        "1: 2026-06-12 dig 1, top marked",
    ]
    assert "more are too many" in refused(site, "place", "2026-06-12", "1", "A1", "--eggs", "1")
    assert "must not share a label" in refused(site, "container", "a1", "--new")
    ran(site, "probe", "p", "--box", "A1", "--lies", "substrate")
    at(monkeypatch, datetime(2026, 6, 23, 5, 0, tzinfo=UTC))
    log = site.parent / "Fühler.csv"
    hours = [datetime(2026, 6, 13, 8) + timedelta(hours=h) for h in range(230)]  # noqa: DTZ001 - a logger's wall
    log.write_text("t;Temp °C\n" + "\n".join(f"{h:%d.%m.%Y %H:%M};28,4" for h in hours), encoding="cp1252")
    answer = ran(site, "readings", "p", str(log))
    assert answer.splitlines()[0] == "230 new readings, 2026-06-13 08:00 to 2026-06-22 21:00."
    assert "decimal comma; the day before the month" in answer
    assert "in the record already" in refused(site, "readings", "p", str(log))
    assert "Entered: 28.9 °C" in ran(site, "readings", "p", "--temperature", "84", "--unit", "f")
    window = ran(site, "window")
    assert window.splitlines()[0] == (
        "Box A1, 2026-06-12 dig 1, 9 of 9 eggs left: 2026-08-06 to 2026-08-26"
    ), "55 and 75 days after 12 June, by the site file"
    assert "nothing here replaces a vet" in window
    assert ran(site, "alerts") == "Box A1: not weighed for 10 days: weigh it and top up its water.\n"
    assert "developing (vessels)" in ran(
        site, "check", "A1", "--saw", "developing", "--egg", "3", "--note", "vessels"
    )
    ran(site, "weigh", "A1", "900", "--added", "5")
    at(monkeypatch, datetime(2026, 8, 12, 5, 0, tzinfo=UTC))
    ran(site, "hatch", "A1", "--egg", "3", "--outcome", "alive", "--mass", "6.1", "--name", "E1")
    ran(site, "hatch", "A1", "--alive", "6", "--infertile", "1")
    assert "has only 1 left to settle" in refused(site, "hatch", "A1", "--alive", "2")
    assert ran(site, "hatchling", "E1", "--mass", "6.3") == "2026-08-12 6.3 g\n"
    assert len(json.loads(ran(site, "hatch", "A1", "--json"))) == 8


def test_an_ambiguous_file_is_asked_about_and_nothing_is_kept(site: Path) -> None:
    ran(site, "container", "A1", "--new")
    ran(site, "probe", "p", "--box", "A1")
    log = site.parent / "log.csv"
    log.write_text("t,temp\n06/05/2026 10:00,28.4\n", encoding="utf-8")
    assert refused(site, "readings", "p", str(log)) == (
        "nestwatch: log.csv: the first reading may be of 06 May 2026 (--order day-first) or 05 June 2026 "
        "(--order month-first); say which with --order.\n"
    )
    assert ran(site, "readings") == "No reading was entered.\n"
    assert "cannot be read" in refused(site, "readings", "p", str(site.parent / "none.csv"))


def test_labels_and_calendar_are_files(site: Path) -> None:
    assert ran(site, "labels").startswith("No label was made")
    ran(site, "container", "A1", "--new")
    ran(site, "place", "2026-06-12", "1", "A1", "--eggs", "9")
    assert ran(site, "labels", "A1", "--size", "small") == (
        f"1 label, to print at 100 %: {site.parent / 'labels.pdf'}\n"
    )
    assert (site.parent / "labels.pdf").read_bytes().startswith(b"%PDF")
    assert ran(site, "calendar") == f"4 events: {site.parent / 'nestwatch.ics'}\n"


def test_profiles_are_told_with_their_sources(site: Path) -> None:
    assert "emys-orbicularis: European pond turtle (for the animal of the site file)" in ran(site, "profiles")
    said = ran(site, "profiles", "Emys orbicularis")
    assert "Hatching: 55 to 75 days at 27 to 30 °C [no source]" in said
    assert "Pieau 1982, J. Exp. Zool. 220 (as read in an abstract)" in said
    assert 'no species profile "turtel"; did you mean' in refused(site, "profiles", "pond-turtel").replace(
        "pond-turtel", "turtel"
    )


@pytest.mark.parametrize(
    "arguments",
    [
        ["container", "{}", "--medium", "sand"],
        ["place", "{}", "2026-06-12", "1", "A1"],
        ["readings", "{}", "p"],
        ["check", "{}", "A1", "--egg", "1"],
        ["weigh", "{}", "A1", "--added", "3"],
        ["hatch", "{}", "A1", "--mass", "6"],
        ["hatch", "{}", "A1", "--egg", "1", "--alive", "2"],
    ],
)
def test_half_said_commands_are_usage_errors(site: Path, arguments: list[str]) -> None:
    result = clutch(*[part.format(site) for part in arguments])
    assert result.exit_code == 2
    assert "Usage: " in result.stderr


def test_a_window_as_json(site: Path) -> None:
    ran(site, "container", "A1", "--new")
    ran(site, "place", "2026-06-12", "1", "A1", "--eggs", "9")
    (told,) = json.loads(ran(site, "window", "a1", "--json"))
    assert (told["box"], told["left"], told["by_readings"]) == ("A1", 9, None)
    assert (told["window"]["first"], told["window"]["last"]) == ("2026-08-06", "2026-08-26")
    assert told["remarks"] == ["No readings: the window rests on the profile's days alone."]
