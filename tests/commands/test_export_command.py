"""`nestwatch export`: whole output, what options reach, and every refusal in one line."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from nestwatch.commands import record_context
from nestwatch.commands.main import main
from tests.export.seasons import a_season, site_in
from tests.site.sites import spoiled, written


@pytest.fixture
def season(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The site file of a season on record; it is 25 November."""
    monkeypatch.setattr(record_context, "now", lambda: datetime(2026, 11, 25, 15, 0, tzinfo=UTC))
    site = site_in(tmp_path)
    a_season(site).close()
    return site.path


def run(*arguments: str | Path) -> Any:
    return CliRunner().invoke(main, ["export", *map(str, arguments)], prog_name="nestwatch")


def test_whole_output(season: Path) -> None:
    result = run(season)
    folder = season.parent / "exports" / "2026-11-25"
    tables = "nights 4, footage 4, watched 1, digs 6, finds 2, clutches 1, females 1"
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout == (
        f"{folder / 'csv'}: {tables}\n"
        f"{folder / 'ics'}: events 1\n"
        f"{folder / 'camtrap-dp'}: deployments 3, media 3, observations 5, {tables}\n"
        "  The site's place is told to within 6.8 km only, and not where in the pen the nests are; notes are "
        "left out, names of the site, pens and cameras are not (--title changes the first).\n"
        "  Pictures and clips stay here; their names are listed as not public.\n"
        "  Digs that are no camera's observation, and so in digs.csv only: 1 of 6.\n"
        "  Pictures and clips left out, since they are not in their folder any more: 1.\n"
        "  No licence is named, so nobody may use it further (--data-licence, --media-licence).\n"
        '  No species is named (--scientific-name "Genus species").\n'
    )
    assert (folder / "csv" / "digs.csv").read_bytes().startswith(b"id,night")


def test_options_reach_the_package(season: Path, tmp_path: Path) -> None:
    options = ["--title", "Pens", "--contributor", "A trust", "--scientific-name", "Emys orbicularis"]
    licences = ["--data-licence", "CC-BY-4.0", "--media-licence", "CC-BY-NC-4.0"]
    result = run(
        season, "--out", tmp_path / "x", "--format", "camtrap-dp", "--exact-places", *options, *licences
    )
    assert result.exit_code == 0
    assert [path.name for path in (tmp_path / "x").iterdir()] == ["camtrap-dp"]
    assert "EXACT places: the site to within" in result.stdout
    content = json.loads((tmp_path / "x/camtrap-dp/datapackage.json").read_text(encoding="utf-8"))
    assert (content["title"], content["contributors"][0]["title"]) == ("Pens", "A trust")
    assert content["taxonomic"] == [{"scientificName": "Emys orbicularis"}]
    assert [each["name"] for each in content["licenses"]] == ["CC-BY-4.0", "CC-BY-NC-4.0"]


def test_a_mark_for_spreadsheets_and_one_year(season: Path, tmp_path: Path) -> None:
    result = run(season, "--out", tmp_path / "x", "--format", "csv", "--bom", "--year", "2025")
    assert result.stdout == f"{tmp_path / 'x' / 'csv'}: nights 1, footage 1, digs 1, females 1\n"
    assert (tmp_path / "x/csv/digs.csv").read_bytes().startswith(b"\xef\xbb\xbfid,")


def test_a_second_export_of_the_day_needs_to_be_asked_for(season: Path) -> None:
    assert run(season).exit_code == 0
    again = run(season)
    folder = season.parent / "exports" / "2026-11-25" / "csv"
    assert (again.exit_code, again.stdout) == (1, "")
    assert again.stderr == (
        f"nestwatch: {folder} holds nights.csv and 6 more already; choose another folder with --out, or add "
        "--replace to write over them.\n"
    )
    assert run(season, "--replace").exit_code == 0


@pytest.mark.parametrize(
    ("options", "code", "line"),
    [
        (["--year", "2024"], 1, "holds no night of 2024, so there is nothing to export"),
        (["--data-licence", "CC0-1.0"], 2, "give both --data-licence and --media-licence, or neither."),
        (["--format", "xlsx"], 2, "'xlsx' is not one of 'csv', 'ics', 'camtrap-dp'."),
    ],
)
def test_what_cannot_be_is_one_line(season: Path, options: list[str], code: int, line: str) -> None:
    result = run(season, *options)
    assert (result.exit_code, result.stdout) == (code, "")
    assert line in result.stderr.splitlines()[-1]
    assert not (season.parent / "exports").exists()


def test_an_empty_record(tmp_path: Path) -> None:
    result = run(written(tmp_path))
    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr == (
        f"nestwatch: {tmp_path / 'record.sqlite'} holds no night, so there is nothing to export; run "
        "nestwatch night first.\n"
    )


def test_a_site_without_a_place(tmp_path: Path) -> None:
    result = run(written(tmp_path, spoiled(("latitude = 47.2\n", ""))))
    assert result.exit_code == 2
    assert result.stderr.endswith("[site] latitude: missing; add for example latitude = 47.2.\n")


def test_a_folder_that_cannot_be_written_to(season: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    result = run(season, "--out", tmp_path / "file" / "x")
    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr.startswith(f"nestwatch: cannot write {tmp_path / 'file' / 'x' / 'csv'}")
    assert result.stderr.endswith("choose another folder with --out\n")


def test_a_record_that_is_read_elsewhere_can_be_exported(season: Path) -> None:
    with closing(sqlite3.connect(season.parent / "record.sqlite")) as reader:
        reader.execute("BEGIN")
        assert reader.execute("SELECT count(*) FROM night").fetchone() == (4,)
        assert run(season).exit_code == 0
