"""`nestwatch demo`: what it prints, what it keeps of an earlier demo, and what it never touches."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

import nestwatch
from nestwatch.commands.main import main
from nestwatch.errors import OutputError
from tests.commands.fakes import SUMMARY, Job, Renderer
from tests.site.sites import GOOD

MORNING = datetime(2026, 6, 13, 7, 30, tzinfo=UTC)


def demo(folder: Path, *options: str) -> Result:
    return CliRunner().invoke(main, ["demo", str(folder), *options])


@pytest.fixture
def renderer(monkeypatch: pytest.MonkeyPatch) -> Renderer:
    return Renderer(GOOD).install(monkeypatch)


@pytest.fixture
def job(monkeypatch: pytest.MonkeyPatch) -> Job:
    return Job().install(monkeypatch)


@pytest.fixture(autouse=True)
def seasons(monkeypatch: pytest.MonkeyPatch) -> list[tuple[date, int]]:
    """The nights and seeds for which a season was invented; tests/demo invents one."""
    made: list[tuple[date, int]] = []

    def make(site_file: Path, night: date, seed: int) -> datetime:
        made.append((night, seed))
        return MORNING

    monkeypatch.setattr("nestwatch.demo.make.make_season", make)
    return made


def test_invents_watches_and_says_where_to_look(
    tmp_path: Path, renderer: Renderer, job: Job, seasons: list[tuple[date, int]]
) -> None:
    folder = tmp_path / "demo"
    result = demo(folder)
    assert result.exit_code == 0
    assert result.stdout == "\n".join(
        [
            *SUMMARY,
            f"Pictures and all details: {folder / 'nights' / '2026-06-12' / 'index.html'}",
            f"What was really drawn: {folder / 'truth.json'}. "
            f"A site file to start from: {folder / 'site.toml'}",
            "An invented season lies around that night; its clock stands on the morning after. Look at it:",
            f"  nestwatch desk {folder / 'site.toml'}      the morning, boxes and season in the browser",
            f"  nestwatch season {folder / 'site.toml'}    the season's tally, as a page too",
            f"  nestwatch clutch window {folder / 'site.toml'}    when hatchlings are to be expected",
            f"  nestwatch export {folder / 'site.toml'}    tables, a calendar and a package to pass on",
            "",
        ]
    )
    assert result.stderr == (
        "inventing a night (plain-nest, seed 1)\nrecordings: drawing\ninventing the season around it\n"
    )
    assert seasons == [(date(2026, 6, 12), 1)]
    assert renderer.calls == [("plain-nest", 1)]
    assert [(call[1], call[2]) for call in job.calls] == [(date(2026, 6, 12), folder / "nights")]


@pytest.mark.usefixtures("job")
def test_the_same_demo_again_keeps_its_recordings(tmp_path: Path, renderer: Renderer) -> None:
    assert demo(tmp_path / "demo").exit_code == 0
    again = demo(tmp_path / "demo")
    assert (again.exit_code, again.stderr) == (0, "")
    assert len(renderer.calls) == 1


@pytest.mark.usefixtures("job")
def test_another_demo_clears_only_what_a_demo_made(tmp_path: Path, renderer: Renderer) -> None:
    folder = tmp_path / "demo"
    assert demo(folder).exit_code == 0
    (folder / "my notes.txt").write_text("mine")
    assert demo(folder, "--seed", "7", "--scenario", "two-trials").exit_code == 0
    assert renderer.calls == [("plain-nest", 1), ("two-trials", 7)]
    assert [path.name for path in (folder / "footage").iterdir()] == ["7.mp4"]
    assert (folder / "my notes.txt").read_text() == "mine"


@pytest.mark.usefixtures("job")
def test_a_demo_cut_short_is_made_anew(tmp_path: Path, renderer: Renderer) -> None:
    renderer.trouble = KeyboardInterrupt()
    folder = tmp_path / "demo"
    assert demo(folder).exit_code == 130
    renderer.trouble = None
    assert demo(folder).exit_code == 0
    assert len(renderer.calls) == 2
    marker = json.loads((folder / ".nestwatch-demo.json").read_text())
    wanted = {"scenario": "plain-nest", "seed": 1, "version": nestwatch.__version__, "whole": True}
    assert marker == {**wanted, "morning": MORNING.isoformat()}


@pytest.mark.usefixtures("job", "renderer")
def test_a_season_cut_short_is_invented_anew_without_drawing_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, renderer: Renderer
) -> None:
    folder = tmp_path / "demo"
    with monkeypatch.context() as cut:
        cut.setattr("nestwatch.demo.make.make_season", _cut_short)
        assert demo(folder).exit_code == 130
    assert (folder / "record.sqlite").exists()
    assert demo(folder).exit_code == 0
    assert not (folder / "record.sqlite").exists()
    assert len(renderer.calls) == 1


def _cut_short(site_file: Path, night: date, seed: int) -> datetime:
    (site_file.parent / "record.sqlite").write_bytes(b"half")
    raise KeyboardInterrupt


@pytest.mark.usefixtures("job")
def test_a_folder_with_other_things_is_refused_and_left_alone(tmp_path: Path, renderer: Renderer) -> None:
    (tmp_path / "site.toml").write_text("mine")
    result = demo(tmp_path)
    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr == f"nestwatch: {tmp_path} is not empty and no former demo; name a new folder.\n"
    assert (tmp_path / "site.toml").read_text() == "mine"
    assert renderer.calls == []


@pytest.mark.usefixtures("job", "renderer")
def test_an_empty_folder_is_used(tmp_path: Path) -> None:
    assert demo(tmp_path).exit_code == 0


@pytest.mark.usefixtures("job", "renderer")
def test_a_file_in_the_way_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    result = demo(tmp_path / "file" / "demo")
    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr == (
        f"nestwatch: {tmp_path / 'file' / 'demo'}: cannot be used (Not a directory); name another folder.\n"
    )


def test_partial_footage_ends_in_3(
    tmp_path: Path, renderer: Renderer, monkeypatch: pytest.MonkeyPatch
) -> None:
    Job(partial=True).install(monkeypatch)
    assert demo(tmp_path / "demo").exit_code == 3
    assert len(renderer.calls) == 1


@pytest.mark.usefixtures("job")
def test_a_full_disk_is_one_line(tmp_path: Path, renderer: Renderer) -> None:
    renderer.trouble = OutputError("the disk is full.")
    result = demo(tmp_path / "demo")
    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr.splitlines()[-1] == "nestwatch: the disk is full."
