"""`nestwatch night`: whole output, exit codes, and what it asks of the job."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from nestwatch.commands.main import main
from nestwatch.errors import FootageError, OutputError, StampError
from nestwatch.site import last_night, load_site
from tests.commands.fakes import DOCUMENT, SUMMARY, Job, Progress
from tests.site.sites import spoiled, written


def answer_text(site: Path, night: str = "2026-06-12") -> str:
    """What stdout must hold: the summary and where the page lies."""
    page = site.parent / "nights" / night / "index.html"
    return "\n".join([*SUMMARY, f"Pictures and all details: {page}"]) + "\n"


def test_prints_the_summary_and_where_to_look(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job, site = Job().install(monkeypatch), written(tmp_path)
    result = CliRunner().invoke(main, ["night", str(site), "--date", "2026-06-12"])
    assert (result.exit_code, result.stdout, result.stderr) == (0, answer_text(site), "")
    assert job.calls == [
        (
            load_site(site),
            date(2026, 6, 12),
            tmp_path / "nights",
            {"trust_mtime": False, "workers": None, "fresh": False, "known_nests": [], "fit": None},
        )
    ]


def test_options_reach_the_job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job, site = Job().install(monkeypatch), written(tmp_path)
    options = ["--out", str(tmp_path / "here"), "--trust-file-times", "--workers", "3", "--fresh"]
    result = CliRunner().invoke(main, ["night", str(site), "--date", "2026-06-12", *options])
    assert result.exit_code == 0
    wanted = {"trust_mtime": True, "workers": 3, "fresh": True, "known_nests": [], "fit": None}
    assert job.calls[0][2:] == (tmp_path / "here", wanted)


def test_the_default_is_the_night_that_ended_last(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job, site = Job().install(monkeypatch), written(tmp_path)
    wanted = {last_night(load_site(site), datetime.now(UTC))}
    assert CliRunner().invoke(main, ["night", str(site)]).exit_code == 0
    assert job.calls[0][1] in wanted | {last_night(load_site(site), datetime.now(UTC))}


def test_json_prints_the_night_file_and_nothing_else(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Job().install(monkeypatch)
    site = written(tmp_path)
    result = CliRunner().invoke(main, ["night", str(site), "--date", "2026-06-12", "--json"])
    assert (result.exit_code, result.stderr) == (0, "")
    assert json.loads(result.stdout) == DOCUMENT


def test_footage_that_could_not_be_read_ends_in_3(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Job(partial=True).install(monkeypatch)
    site = written(tmp_path)
    result = CliRunner().invoke(main, ["night", str(site), "--date", "2026-06-12"])
    assert (result.exit_code, result.stdout, result.stderr) == (3, answer_text(site), "")


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (FootageError("camera off."), 1),
        (StampError("no start."), 2),
        (OutputError("disk full."), 1),
        (OutputError("over\ntwo lines."), 1),
    ],
)
def test_an_error_meant_for_the_keeper_is_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: Exception, code: int
) -> None:
    Job(trouble=error).install(monkeypatch)
    result = CliRunner().invoke(main, ["night", str(written(tmp_path)), "--date", "2026-06-12"])
    line = str(error).replace("\n", " ")
    assert (result.exit_code, result.stdout, result.stderr) == (code, "", f"nestwatch: {line}\n")


def test_a_mistake_in_the_site_file_ends_in_2(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job = Job().install(monkeypatch)
    site = written(tmp_path, spoiled(("Europe/Paris", "Europe/Pari")))
    result = CliRunner().invoke(main, ["night", str(site)])
    line = f'nestwatch: {site}, line 4: [site] timezone: "Europe/Pari" is not a known time zone; '
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == line + 'did you mean "Europe/Paris"?\n'
    assert job.calls == []


USAGE = "Usage: nestwatch night [OPTIONS] SITE\nTry 'nestwatch night --help' for help.\n\n"


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        pytest.param([], "Error: Missing argument 'SITE'.\n", id="no site"),
        pytest.param(
            ["s", "--date", "12.6.2026"],
            "Error: Invalid value for '--date': \"12.6.2026\" is not a date; write year-month-day, such as "
            "2026-06-12.\n",
            id="date",
        ),
        pytest.param(
            ["s", "--workers", "0"],
            "Error: Invalid value for '--workers': 0 is not in the range x>=1.\n",
            id="workers",
        ),
    ],
)
def test_usage_errors_end_in_2(arguments: list[str], message: str) -> None:
    result = CliRunner().invoke(main, ["night", *arguments], prog_name="nestwatch")
    assert (result.exit_code, result.stdout, result.stderr) == (2, "", USAGE + message)


def test_a_night_that_has_not_begun_is_a_usage_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job = Job().install(monkeypatch)
    later = datetime.now(UTC).date() + timedelta(days=3)
    result = CliRunner().invoke(
        main, ["night", str(written(tmp_path)), "--date", str(later)], prog_name="nestwatch"
    )
    assert (result.exit_code, result.stdout, job.calls) == (2, "", [])
    assert result.stderr == USAGE + (
        f"Error: Invalid value for --date: the night of {later} has not begun; "
        "nights are named by the date of their evening.\n"
    )


def test_progress_goes_to_stderr_in_plain_lines(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    reading = [Progress("sandbank", done, 100, "reading") for done in range(0, 101, 4)]
    looking = [Progress("sandbank", 1, 1, "looking closely")] * 5
    pond = [Progress("pond", 10, 100, "reading"), Progress("pond", 60, 100, "reading")]
    Job(steps=(*reading, *looking, *pond)).install(monkeypatch)
    site = written(tmp_path)
    result = CliRunner().invoke(main, ["night", str(site), "--date", "2026-06-12"])
    assert result.stdout == answer_text(site)
    assert result.stderr.splitlines() == [
        "sandbank: reading, 0 %",
        "sandbank: reading, 25 %",
        "sandbank: reading, 50 %",
        "sandbank: reading, 75 %",
        "sandbank: reading",
        "sandbank: looking closely",
        "pond: reading, 0 %",
        "pond: reading, 50 %",
    ]
