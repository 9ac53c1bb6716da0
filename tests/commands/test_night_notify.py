"""`nestwatch night --notify`: exit codes, what is sent, and that results and record come first."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from nestwatch.commands.main import main
from nestwatch.errors import FootageError
from tests.commands import fakes
from tests.commands.fakes import Job
from tests.season.records import dig_entry, night_file
from tests.site.sites import GOOD, written

KEEP = "import sys; open('told.txt', 'wb').write(sys.stdin.buffer.read())"


def site(folder: Path, code: str = KEEP) -> Path:
    command = ", ".join(f'"{part}"' for part in (Path(sys.executable).as_posix(), "-c", code))
    return written(folder, f"{GOOD}[notify]\ncommand = [{command}]\n")


@pytest.fixture
def document(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """What the job gives back: a whole night file's content."""
    whole = night_file([dig_entry()])
    whole["footage"][0].update(health=[], looked_min=480.0)
    monkeypatch.setattr(fakes, "DOCUMENT", whole)
    return whole


def run(path: Path, *options: str) -> Any:
    return CliRunner().invoke(main, ["night", str(path), "--date", "2026-06-12", "--notify", *options])


@pytest.mark.usefixtures("document")
def test_the_message_is_sent_after_the_answer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Job().install(monkeypatch)
    result = run(site(tmp_path))
    assert (result.exit_code, result.stderr) == (0, "")
    told = (tmp_path / "told.txt").read_text(encoding="utf-8").splitlines()
    assert told[0] == "nestwatch, Linden Fen, 2026-06-12: 1 nest"
    assert "1. nest, eggs 93 %: 21:14–23:18, sandbank" in told


@pytest.mark.usefixtures("document")
def test_a_message_that_cannot_be_sent_ends_in_4_with_the_answer(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Job(partial=True).install(monkeypatch)
    result = run(site(tmp_path, "import sys; sys.exit(9)"))
    assert result.exit_code == 4
    assert result.stdout.startswith(fakes.SUMMARY[0])
    assert result.stderr == (
        "The night is done and kept, but nobody may have been told: "
        f'"{Path(sys.executable).as_posix()}" ended with 9.\n'
    )


@pytest.mark.usefixtures("document")
def test_unread_footage_still_ends_in_3(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Job(partial=True).install(monkeypatch)
    assert run(site(tmp_path)).exit_code == 3


@pytest.mark.parametrize("trouble", [FootageError("no camera recorded anything."), ValueError("odd")])
def test_a_night_that_fails_is_told_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, trouble: Exception
) -> None:
    Job(trouble=trouble).install(monkeypatch)
    result = run(site(tmp_path))
    assert result.exit_code == 1
    assert result.stderr.startswith("nestwatch: ")
    told = (tmp_path / "told.txt").read_text(encoding="utf-8")
    assert told.startswith("nestwatch, Linden Fen, 2026-06-12: NOT WATCHED\n")
    why = "no camera recorded anything." if isinstance(trouble, FootageError) else "a fault of the program"
    assert why in told


def test_a_failed_night_and_a_failed_message_are_both_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Job(trouble=FootageError("camera off.")).install(monkeypatch)
    result = run(site(tmp_path, "import sys; sys.exit(9)"))
    assert result.exit_code == 1
    first, second = result.stderr.splitlines()
    assert first.startswith("The night could not be watched, and nobody may have been told: ")
    assert second == "nestwatch: camera off."


def test_nobody_to_tell_is_said_before_the_work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job, path = Job().install(monkeypatch), written(tmp_path)
    result = run(path)
    assert (result.exit_code, result.stdout, job.calls) == (2, "", [])
    assert result.stderr == (
        f"nestwatch: {path}: has no table [notify], so nobody can be told; add one (docs/site-file.md shows "
        "it) or leave out --notify.\n"
    )
