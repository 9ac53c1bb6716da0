"""Records of judged nights are kept from one machine to the next, and only while they still hold."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from bench import judge, records
from bench.judge import Job
from bench.usage import Usage, measured
from nestwatch.camera_night import METHOD
from tests.judging.test_nights import FAKE, invented


def _job(store: Path, seed: int = 1, rivals: tuple[str, ...] = ()) -> Job:
    return Job("hard/fog", seed, store, False, invented, FAKE, rivals=rivals)


@pytest.fixture
def script(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stands for the obvious script: ends well without a word."""
    stand_in = tmp_path / "script.py"
    stand_in.write_text("import sys; sys.exit(0)", encoding="utf-8")

    def run(command: list[str], *, log: Path) -> Usage:
        ours = "bench.obvious" not in command
        return measured(command if ours else [sys.executable, str(stand_in)], log=log)

    monkeypatch.setattr(judge, "measured", run)


def test_a_night_judged_on_one_machine_is_not_run_again_on_another(tmp_path: Path) -> None:
    here, there, kept = _job(tmp_path / "here"), _job(tmp_path / "there"), tmp_path / "records"
    once = judge.judge(here)
    assert records.pack([here, _job(tmp_path / "here", 2)], kept) == (1, 0)
    assert records.unpack([there], kept) == 1
    again = judge.judge(there)
    assert judge.judged(again) == judge.judged(once)
    assert not (there.folder / "runs.txt").exists()
    assert records.unpack([there], kept) == 0


def test_what_was_kept_before_stays_when_more_is_packed(tmp_path: Path) -> None:
    kept, jobs = tmp_path / "records", [_job(tmp_path, seed) for seed in (1, 2)]
    for number, job in enumerate(jobs, start=1):
        judge.judge(job)
        assert records.pack([job], kept) == (number, 0)


def test_a_night_that_would_be_rendered_otherwise_now_is_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    here, there, kept = _job(tmp_path / "here"), _job(tmp_path / "there"), tmp_path / "records"
    judge.judge(here)
    records.pack([here], kept)
    monkeypatch.setattr(records, "render_key", lambda job: "0" * 64)
    assert records.unpack([there], kept) == 0


def test_without_a_file_there_is_nothing_to_take(tmp_path: Path) -> None:
    assert records.unpack([_job(tmp_path)], tmp_path / "none") == 0


def test_what_an_earlier_method_found_can_still_be_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept, jobs = tmp_path / "records", [_job(tmp_path, seed) for seed in (1, 2)]
    once = judge.judge(jobs[0])
    records.pack(jobs[:1], kept)
    monkeypatch.setattr("bench.records.METHOD", METHOD + 1)
    assert records.unpack(jobs, kept) == 0
    first, second = records.of_method(jobs, METHOD, kept)
    assert judge.judged(first) == judge.judged(once)
    assert judge.judged(second).score is None
    assert [night["seed"] for night in records.nights_of_method(METHOD, kept)] == [1]


@pytest.mark.usefixtures("script")
def test_what_the_script_found_is_kept_while_the_script_stays_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    here, there, kept = (
        _job(tmp_path / "here", rivals=("patient",)),
        _job(tmp_path / "there", rivals=("patient",)),
        tmp_path / "records",
    )
    once = judge.judge(here)
    assert records.pack([here], kept) == (1, 1)
    assert records.unpack([there], kept) == 2
    again = judge.judge(there)
    assert judge.judged(again, rival="patient") == judge.judged(once, rival="patient")
    assert not (there.folder / "rendered").exists()
    monkeypatch.setattr(records, "rival_key", lambda job: "another script")
    assert records.unpack([_job(tmp_path / "third", rivals=("patient",))], kept) == 1
