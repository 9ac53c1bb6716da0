"""`nestwatch schedule`: whole output, the choice of a timer, files that are not overwritten."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from typing import Any

import pytest
import tzlocal
from click.testing import CliRunner

from nestwatch.commands.main import main
from nestwatch.commands.schedule import own_timer
from tests.site.sites import written


@pytest.fixture(autouse=True)
def _in_paris(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tzlocal, "get_localzone_name", lambda: "Europe/Paris")


def run(*arguments: str) -> Any:
    return CliRunner().invoke(main, ["schedule", *arguments], prog_name="nestwatch")


def test_cron_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", "/opt/nestwatch/bin/python")
    path = written(tmp_path)
    result = run(str(path), "--for", "cron")
    assert result.exit_code == 0
    assert result.stdout == (
        f"10 9 * * * cd {tmp_path} && /opt/nestwatch/bin/python -m nestwatch night {path} >> "
        "nestwatch-nightly.log 2>&1\n"
    )
    assert result.stderr == (
        "Every day at 09:10 by the clocks of Europe/Paris.\n"
        "Type crontab -e and add the line at the end.\n"
        f"What it says goes to {tmp_path / 'nestwatch-nightly.log'}\n"
        "Cron does not make up for a night missed while the computer was off; where there is systemd, take "
        "--for systemd.\n"
    )


def test_files_are_written_and_never_overwritten(tmp_path: Path) -> None:
    path, out = written(tmp_path), tmp_path / "timers"
    result = run(str(path), "--for", "systemd", "--at", "7:05", "--out", str(out))
    names = ["nestwatch-linden-fen.service", "nestwatch-linden-fen.timer"]
    assert result.stdout.splitlines() == [str(out / name) for name in names]
    assert "OnCalendar=*-*-* 07:05:00 Europe/Paris" in (out / names[1]).read_text(encoding="utf-8")
    again = run(str(path), "--for", "systemd", "--out", str(out))
    assert again.exit_code == 1
    assert again.stderr.startswith(f"nestwatch: {out / names[0]} is there already and is not overwritten")


def test_both_files_are_printed_with_their_names(tmp_path: Path) -> None:
    result = run(str(written(tmp_path)), "--for", "systemd")
    heads = [line for line in result.stdout.splitlines() if line.startswith("# nestwatch-")]
    assert heads == ["# nestwatch-linden-fen.service", "# nestwatch-linden-fen.timer"]


def test_another_computer_s_clocks_are_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tzlocal, "get_localzone_name", lambda: "Asia/Kolkata")
    result = run(str(written(tmp_path)), "--for", "cron")
    assert result.stdout.startswith("40 13 * * * ")
    assert "This computer's clocks differ: 13:40 by them is never before that." in result.stderr


@pytest.mark.parametrize(
    ("platform", "systemctl", "timer"),
    [
        ("win32", None, "windows"),
        ("darwin", None, "launchd"),
        ("linux", "/usr/bin/systemctl", "systemd"),
        ("linux", None, "cron"),
    ],
)
def test_the_timer_of_a_computer(
    monkeypatch: pytest.MonkeyPatch, platform: str, systemctl: str | None, timer: str
) -> None:
    monkeypatch.setattr(shutil, "which", lambda name: systemctl)
    assert own_timer(platform) == timer


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--at", "9.10"], '"9.10" is not a time; write hours and minutes, such as 09:10.'),
        (["--for", "at"], "'at' is not one of 'systemd', 'cron', 'launchd', 'windows'."),
    ],
)
def test_usage_errors(tmp_path: Path, arguments: list[str], message: str) -> None:
    result = run(str(written(tmp_path)), *arguments)
    assert (result.exit_code, result.stdout) == (2, "")
    assert message in result.stderr


def test_notify_without_anybody_to_tell(tmp_path: Path) -> None:
    result = run(str(written(tmp_path)), "--for", "cron", "--notify")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "has no table [notify]" in result.stderr


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    result = run(str(written(tmp_path)), "--for", "cron", "--out", str(tmp_path / "file" / "x"))
    assert result.exit_code == 1
    assert result.stderr.splitlines()[0].startswith("nestwatch: cannot write ")
