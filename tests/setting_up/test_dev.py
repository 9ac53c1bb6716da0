"""What dev.py says on a machine where it cannot work, and when it sets up anew."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest

import dev


@pytest.fixture
def bare(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder as after cloning: a lock, a project table, no environment."""
    (tmp_path / "requirements.lock").write_text("click==8.5.1\n")
    (tmp_path / "pyproject.toml").write_text("[project]\n")
    monkeypatch.setattr(dev, "ROOT", tmp_path)
    monkeypatch.setattr(dev, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(dev, "LOCK", tmp_path / "requirements.lock")
    monkeypatch.setattr(dev, "STAMP", tmp_path / ".venv" / "nestwatch.stamp")
    return tmp_path


@pytest.fixture
def steps(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The steps of setting up, noted instead of done; the first makes an environment with its own Python."""
    done: list[str] = []

    def note(what: str, *_command: str | Path) -> None:
        done.append(what)
        if what == "making .venv":
            dev.in_venv("python").parent.mkdir(parents=True, exist_ok=True)
            dev.in_venv("python").write_text("")

    monkeypatch.setattr(dev, "must", note)
    return done


def test_an_old_python_gets_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "version_info", (3, 10, 4, "final", 0))
    with pytest.raises(SystemExit, match=r"needs 3\.11 or newer. Install one and run it by name"):
        dev.check_python()


@pytest.mark.usefixtures("bare")
def test_a_python_without_ensurepip_gets_the_package_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(SystemExit, match=r"sudo apt-get install python3\.\d+-venv"):
        dev.check_python()


def test_the_second_run_sets_nothing_up(bare: Path, steps: list[str]) -> None:
    dev.set_up()
    assert steps == ["making .venv", "installing packages", "installing nestwatch"]
    steps.clear()
    dev.set_up()
    assert steps == []
    (bare / "requirements.lock").write_text("click==8.6.0\n")
    dev.set_up()
    assert steps[-2:] == ["installing packages", "installing nestwatch"]


def test_a_set_up_that_failed_leaves_no_stamp(
    bare: Path, steps: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    dev.set_up()
    (bare / "pyproject.toml").write_text("[project]\nname = 'changed'\n")

    def fail(what: str, *_command: str | Path) -> None:
        raise SystemExit(what)

    monkeypatch.setattr(dev, "must", fail)
    with pytest.raises(SystemExit):
        dev.set_up()
    assert not (bare / ".venv" / "nestwatch.stamp").exists()


def test_half_an_environment_does_not_count(bare: Path) -> None:
    assert not dev.python_works()
    dev.in_venv("python").parent.mkdir(parents=True)
    dev.in_venv("python").write_text("")
    dev.in_venv("python").chmod(0o755)
    assert not dev.python_works()


@pytest.mark.usefixtures("bare")
def test_a_missing_lock_says_how_to_get_it_back() -> None:
    dev.LOCK.unlink()
    with pytest.raises(SystemExit, match=r"git checkout -- requirements\.lock"):
        dev.set_up()


def test_gates_stop_at_the_first_that_fails_and_name_it(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    ran: list[str] = []

    def run(*command: str | Path) -> int:
        ran.append(str(command[2]))
        return 3 if command[2] == "mypy" else 0

    monkeypatch.setattr(dev, "run", run)
    assert dev.test([]) == 3
    assert ran == ["ruff", "ruff", "mypy"]
    assert capsys.readouterr().err.splitlines()[-1] == "dev.py: the gate 'mypy' failed"


def test_the_lock_names_hashes_and_no_registry() -> None:
    text = (Path(dev.__file__).parent / "requirements.lock").read_text(encoding="utf-8")
    assert "--hash=sha256:" in text
    assert "://" not in text
    assert "--index" not in text
