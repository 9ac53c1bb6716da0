"""`nestwatch season` as it is typed: words, tables, JSON, and what is refused."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from nestwatch.commands import record_context
from nestwatch.commands.main import main
from nestwatch.season.records import Eggs
from tests.export.seasons import dig
from tests.season.tally.seasons import a_record, a_site, found, nest, scan

Run = Callable[..., Result]
NOW = datetime(2026, 6, 20, 10, 0, tzinfo=UTC)
WEATHER = "Time;Temp °C;Rain mm\n" + "".join(
    f"2026-06-{12 + h // 24} {h % 24:02d}:00;{19 - h / 10:.1f};0.0\n" for h in range(18, 30)
)


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """A season of four scanned nights of 2026 and one of 2025, told at noon of 20 June 2026."""
    monkeypatch.setattr(record_context, "now", lambda: NOW)
    site = a_site(tmp_path)
    with a_record(site, NOW) as record:
        nest(record, site, date(2025, 6, 20), 8, female="Ada")
        nest(record, site, date(2026, 5, 28), 9, female="Ada", outcomes={"pending": 9})
        scan(record, site, date(2026, 6, 1))
        night = date(2026, 6, 12)
        calls = (("20:00", "20:40", "rest"), ("21:00", "22:00", "nest"), ("22:30", "23:00", "unclear"))
        scan(record, site, night, [dig(n, f"{night}", *each) for n, each in enumerate(calls, start=1)])
        found(record, site, night, "1", "eggs", eggs=Eggs(whole=6))
        found(record, site, night, "2", "empty")

    def invoke(*arguments: str) -> Result:
        return CliRunner().invoke(main, ["season", str(site.path), *arguments], prog_name="nestwatch")

    return invoke


def told(result: Result) -> str:
    assert result.exit_code == 0, result.stderr
    return result.stdout


def test_the_first_five_lines(run: Run) -> None:
    lines = told(run()).splitlines()
    assert lines[0] == ("Linden Fen 2026: 4 attempts, 2 nests, 15 eggs; no egg settled yet, 9 pending.")
    assert lines[1] == "Attempts: 2 nests with eggs, 1 trial dig, 1 still to be dug up."
    assert lines[2].startswith(
        "36 nights counted, 15 May – 19 Jun: 3 scanned, 0 watched by eye. Not seen: 33 of 36"
    )
    assert lines[3].startswith("Due now: Ada: 14–28 Jun (24 days")
    assert "Bona et al. 2012" in lines[3]
    assert lines[4] == (
        "Of the nests you know of, nestwatch listed 1 of 2 (50 %; 1–99 %). 1 dig that it called a nest held "
        "none, 0 nobody has dug up."
    )


def test_tables_and_what_was_missed(run: Run) -> None:
    text = told(run())
    (hour,) = [line.split() for line in text.splitlines() if line.startswith(" 20:00")]
    assert hour == ["20:00", "1", "1", "0", "0", "6", "–", "0", "3", "3.0", "3.33"]
    assert "Nests that no scan listed: 2026-06-12 dig 1." in text
    assert "Called a nest and none: 2026-06-12 dig 2." in text
    assert "Night of" not in text
    assert "°C" not in text, "no weather, no table of it"


def test_weather_beside_the_site_file_is_taken_by_itself(run: Run, tmp_path: Path) -> None:
    (tmp_path / "weather.csv").write_text(WEATHER, encoding="utf-8")
    text = told(run())
    (warm,) = [line.split() for line in text.splitlines() if line.startswith(" 15 to 18 °C")]
    assert warm[4:] == ["3", "1", "1", "1", "6", "–", "0", "1", "9.0", "3.33"]
    assert "Note: Weather read as: fields between semicolons; decimal point" in text


def test_a_weather_file_that_cannot_be_told_is_asked_for(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "station.csv"
    file.write_text(WEATHER.replace("Rain mm", "Rain").replace(";0.0", ";0.2"), encoding="utf-8")
    refused = run("--weather", str(file))
    assert (refused.exit_code, refused.stdout) == (2, "")
    assert refused.stderr == (
        "nestwatch: station.csv: the file does not say the unit of its rain; say --rain-unit mm or "
        "--rain-unit in.\n"
    )
    assert told(run("--weather", str(file), "--rain-unit", "in"))
    assert "cannot be read" in run("--weather", str(tmp_path / "none.csv")).stderr


def test_options_without_a_file_are_refused(run: Run) -> None:
    refused = run("--unit", "f")
    assert refused.exit_code == 2
    assert "there is no weather.csv beside the site file; give --weather FILE." in refused.stderr
    assert "--replace goes with --csv." in run("--replace").stderr


def test_another_year(run: Run) -> None:
    assert told(run("--year", "2025")).startswith("Linden Fen 2025: 1 attempt, 1 nest, 8 eggs;")
    refused = run("--year", "2023")
    assert (refused.exit_code, refused.stdout) == (1, "")
    assert refused.stderr.endswith("holds no night of 2023; it has 2025, 2026: choose one with --year.\n")


def test_json_is_the_whole_season(run: Run) -> None:
    season = json.loads(told(run("--json")))
    assert (season["year"], season["total"]["nests"], season["nights"]["unseen"]) == (2026, 2, 33)
    assert season["attempts"][0]["at"] == "2026-05-28T21:14:30+02:00"
    assert [nest["year"] for nest in season["earlier"]] == [2025]
    assert season["performance"]["recall"]["of"] == 2


def test_tables_for_a_spreadsheet(run: Run, tmp_path: Path) -> None:
    folder = tmp_path / "tables"
    told(run("--csv", str(folder)))
    with (folder / "tally-attempts.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["kind"] for row in rows] == ["nest", "nest", "trial", "open"]
    assert [row["eggs"] for row in rows] == ["9", "6", "", ""], "unknown is empty, not nought"
    content = (folder / "tally-total.csv").read_bytes()
    assert content.count(b"\r\n") == content.count(b"\n") == 2, "RFC 4180"
    with (folder / "tally-unseen.csv").open(encoding="utf-8", newline="") as file:
        assert len(list(csv.DictReader(file))) == 33
    assert not (folder / "tally-by-rain.csv").exists(), "no weather"


def test_tables_of_an_earlier_tally_are_kept_unless_they_may_go(run: Run, tmp_path: Path) -> None:
    folder = tmp_path / "tables"
    told(run("--csv", str(folder)))
    refused = run("--csv", str(folder))
    assert refused.exit_code == 1
    assert "choose another folder with --csv, or add --replace" in refused.stderr
    (tmp_path / "weather.csv").write_text(WEATHER, encoding="utf-8")
    told(run("--csv", str(folder), "--replace"))
    assert (folder / "tally-by-rain.csv").exists()
    (tmp_path / "weather.csv").unlink()
    told(run("--csv", str(folder), "--replace"))
    assert not (folder / "tally-by-rain.csv").exists(), (
        "a table of an earlier tally would be taken for this one's"
    )


def test_an_empty_record_is_said(tmp_path: Path) -> None:
    site = a_site(tmp_path)
    refused = CliRunner().invoke(main, ["season", str(site.path)])
    assert refused.exit_code == 1
    assert "holds no night yet, so there is no season to tally; run nestwatch night first." in refused.stderr


def test_a_page_is_written_beside_the_site_file_or_where_it_is_asked_for(run: Run, tmp_path: Path) -> None:
    told(run("--no-page"))
    assert not list(tmp_path.glob("*.html"))
    assert run().stderr.endswith(f"Page: {tmp_path / 'season-2026.html'}\n")
    told(run("--page", str(tmp_path / "tally" / "page.html"), "--year", "2025"))
    pages = [tmp_path / "season-2026.html", tmp_path / "tally" / "page.html"]
    for page, night in zip(pages, ("2026-06-12", "2025-06-20"), strict=True):
        assert night in page.read_text(encoding="utf-8")
    assert run("--page", str(tmp_path / "p.html"), "--no-page").exit_code == 2
