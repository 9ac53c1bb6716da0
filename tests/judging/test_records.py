"""Records of judged nights are kept from one machine to the next, and only while they still hold."""

from __future__ import annotations

from pathlib import Path

import pytest

from bench import judge, records
from bench.judge import Job
from tests.judging.test_nights import FAKE, invented


def _job(store: Path, seed: int = 1, overrides: str = "{}") -> Job:
    return Job("hard/fog", seed, store, False, invented, FAKE, overrides=overrides)


def test_a_night_judged_on_one_machine_is_not_run_again_on_another(tmp_path: Path) -> None:
    here, there, file = _job(tmp_path / "here"), _job(tmp_path / "there"), tmp_path / "records.xz"
    once = judge.judge(here)
    assert records.pack([here, _job(tmp_path / "here", 2)], file) == 1
    assert records.unpack([there], file) == 1
    again = judge.judge(there)
    assert judge.judged(again) == judge.judged(once)
    assert not (there.folder / "runs.txt").exists()
    assert records.unpack([there], file) == 0


def test_what_was_kept_before_stays_when_more_is_packed(tmp_path: Path) -> None:
    file, jobs = tmp_path / "records.xz", [_job(tmp_path, seed) for seed in (1, 2)]
    for number, job in enumerate(jobs, start=1):
        judge.judge(job)
        assert records.pack([job], file) == number


def test_a_night_that_would_be_rendered_otherwise_now_is_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    here, there, file = _job(tmp_path / "here"), _job(tmp_path / "there"), tmp_path / "records.xz"
    judge.judge(here)
    records.pack([here], file)
    monkeypatch.setattr(records, "render_key", lambda job: "0" * 64)
    assert records.unpack([there], file) == 0


def test_without_a_file_there_is_nothing_to_take(tmp_path: Path) -> None:
    assert records.unpack([_job(tmp_path)], tmp_path / "none.xz") == 0
