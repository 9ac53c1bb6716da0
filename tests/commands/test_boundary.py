"""What becomes of every kind of exception: one line, the right exit code, and a log where it is our fault."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

import nestwatch
from nestwatch import errors
from nestwatch.commands.main import main
from tests.commands.fakes import Job
from tests.site.sites import written


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[BaseException], Result]:
    """Run `night` with a job that ends in the given exception; results would go to an existing folder."""
    (tmp_path / "nights").mkdir()

    def ended_by(trouble: BaseException) -> Result:
        Job(trouble=trouble).install(monkeypatch)
        return CliRunner().invoke(main, ["night", str(written(tmp_path)), "--date", "2026-06-12"])

    return ended_by


Run = Callable[[BaseException], Result]


def test_every_error_of_the_tree_is_one_line_with_its_code(run: Run) -> None:
    """Complete by walking the subclasses: a new error class is covered the day it is written."""
    tree = [errors.NestwatchError]
    for kind in tree:
        tree.extend(kind.__subclasses__())
    ours = [kind for kind in tree if kind.__module__ == errors.__name__]
    assert len(ours) >= 6
    for kind in ours:
        result = run(kind("what, where, what to do."))
        assert (result.exit_code, result.stdout) == (kind.exit_code, "")
        assert result.stderr == "nestwatch: what, where, what to do.\n"
        assert kind.exit_code in {1, 2, 4}


@pytest.mark.parametrize(
    ("code", "why"),
    [
        (errno.ENOSPC, "the disk is full; free some space and run again"),
        (errno.EROFS, "that disk is read-only; choose another folder with --out"),
        (errno.EACCES, "no permission"),
    ],
)
def test_a_disk_that_takes_nothing_is_an_output_error(run: Run, code: int, why: str) -> None:
    """The words are those of `report.files`, which meets most of them first."""
    result = run(OSError(code, os.strerror(code), "somewhere/night.json"))
    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr.startswith(f"nestwatch: cannot write {Path('somewhere/night.json')}: {why}")
    assert result.stderr.count("\n") == 1


def test_without_a_file_name_the_results_folder_is_named(run: Run, tmp_path: Path) -> None:
    result = run(OSError(errno.ENOSPC, "No space left on device"))
    where = tmp_path / "nights"
    wanted = f"nestwatch: cannot write {where}: the disk is full; free some space and run again\n"
    assert (result.exit_code, result.stderr) == (1, wanted)


def test_a_fault_of_the_program_is_one_line_and_a_log_beside_the_output(run: Run, tmp_path: Path) -> None:
    result = run(ValueError("shapes do not fit"))
    logs = list((tmp_path / "nights").glob("nestwatch-fault-*.log"))
    assert len(logs) == 1
    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr == (
        "nestwatch: this is a fault of the program, not of your files (ValueError: shapes do not fit); "
        f"what happened is in {logs[0]}; send that file to whoever looks after it.\n"
    )
    log = logs[0].read_text(encoding="utf-8")
    assert log.startswith(f"nestwatch {nestwatch.__version__}, Python ")
    assert "Traceback (most recent call last)" in log
    assert log.endswith("ValueError: shapes do not fit\n")


def test_an_unknown_os_error_is_a_fault_too(run: Run) -> None:
    result = run(FileNotFoundError(errno.ENOENT, "No such file or directory", "x"))
    assert result.exit_code == 1
    assert result.stderr.startswith("nestwatch: this is a fault of the program, not of your files (File")


def test_the_log_falls_back_to_the_temporary_folder(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "nights").rmdir()
    (tmp_path / "temporary").mkdir()
    monkeypatch.setattr(tempfile, "gettempdir", lambda: str(tmp_path / "temporary"))
    result = run(ValueError("x"))
    logs = list((tmp_path / "temporary").glob("nestwatch-fault-*.log"))
    assert len(logs) == 1
    assert str(logs[0]) in result.stderr


def test_where_no_log_can_be_written_the_line_says_so(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "nights").rmdir()
    monkeypatch.setattr(tempfile, "gettempdir", lambda: str(tmp_path / "nowhere"))
    assert run(ValueError("x")).stderr == (
        "nestwatch: this is a fault of the program, not of your files (ValueError: x); no log could be "
        "written; send this line to whoever looks after it.\n"
    )


@pytest.mark.parametrize("trouble", [BrokenProcessPool("a child died"), MemoryError()])
def test_a_process_ended_by_the_system_says_what_to_do(run: Run, trouble: Exception) -> None:
    result = run(trouble)
    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr == (
        "nestwatch: a camera's process was ended by the system, often because memory ran out; close other "
        "programs or run again with --workers 1 (finished cameras are kept).\n"
    )


def test_ctrl_c_is_one_line_and_130(run: Run) -> None:
    result = run(KeyboardInterrupt())
    assert (result.exit_code, result.stdout) == (130, "")
    assert result.stderr == "nestwatch: stopped; finished cameras are kept, nothing is half-written\n"


PRINTING = """
from nestwatch.commands import boundary
import click

@click.group(cls=boundary.Guarded)
def main(): pass

@main.command()
@click.pass_context
def talk(ctx):
    for _ in range(20000):
        boundary.answer("a line that nobody reads any more")
    ctx.exit(3)

main(["talk"])
"""


def test_a_reader_that_goes_away_is_no_error() -> None:
    """`nestwatch night ... | head -1`: nothing on stderr, and the exit code is that of the job."""
    child = subprocess.Popen([sys.executable, "-c", PRINTING], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert child.stdout is not None
    assert child.stderr is not None
    with child:
        child.stdout.readline()
        child.stdout.close()
        said = child.stderr.read()
    assert (child.returncode, said) == (3, b"")


def test_letters_that_a_windows_pipe_lacks_become_question_marks() -> None:
    program = "from nestwatch.commands import boundary as b; b._replace_unprintable(); b.answer('3 ≥ ü')"
    environment = {**os.environ, "PYTHONIOENCODING": "cp1252", "PYTHONUTF8": "0"}
    done = subprocess.run([sys.executable, "-c", program], env=environment, capture_output=True, check=True)
    assert done.stdout.splitlines() == ["3 ? ü".encode("cp1252")]
