"""The judging of nights: stored, repeated only when something changed, failures told."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pytest

from bench import judge as judging
from bench.judge import Job, Rendered, judge, judge_all, judged
from bench.seeds import BUILDING, FIRST_SET, HARD_JUDGING, JUDGED_BEFORE, JUDGING, kind_of
from bench.table import report
from bench.usage import measured

FAKE = (sys.executable, str(Path(__file__).with_name("fake_nestwatch.py")))
NEST: dict[str, Any] = {
    "from": "2026-06-12T20:00:00+02:00",
    "to": "2026-06-12T22:00:00+02:00",
    "stages": [],
}


def invented(job: Job, folder: Path) -> Rendered:
    """A night with one nest, and the answer the fake command gives: 5 min late; none for seed 13."""
    seen = {"bank": {"chamber_px": [100, 100], "body_px": [110, 100], "shell_px": 20}}
    event = {**NEST, "kind": "nest", "chamber_m": None, "per_camera": seen}
    (folder / "truth.json").write_text(json.dumps({"animals": [{"events": [event]}]}), encoding="utf-8")
    place = {"pixel": [104, 103], "plan_m": None, "within_m": None}
    dig = {**NEST, **place, "from": "2026-06-12T20:05:00+02:00", "rank": 1, "camera": "bank", "call": "nest"}
    answer = {"footage": [{"camera": "bank", "seconds_read": 7200}], "digs": [dig]}
    if job.seed != 13:
        (folder / "answer.json").write_text(json.dumps(answer), encoding="utf-8")
    return Rendered(folder / "site.toml", "2026-06-12", folder / "truth.json")


def made(store: Path, *, seed: int = 1, keep: bool = False) -> Job:
    return Job("plain-nest", seed, store, keep, invented, FAKE)


def runs(work: Job) -> int:
    return len((work.folder / "runs.txt").read_text(encoding="utf-8").splitlines())


def test_a_night_is_run_once_and_its_recordings_go(tmp_path: Path) -> None:
    work = made(tmp_path)
    first, second = judge(work), judge(work)
    assert first == second
    assert runs(work) == 1
    assert not (work.folder / "rendered").exists()
    score = judged(second).score
    assert score is not None
    # 4 and 3 pixels aside are 5 pixels: a quarter of a 20-pixel shell.
    assert score.events[0].chamber_shells == pytest.approx(0.25)
    assert score.events[0].start_s == 300


def test_a_changed_program_is_judged_anew_on_the_same_recordings(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    work = made(tmp_path, keep=True)
    judge(work)
    first = (work.folder / "rendered" / "truth.json").stat().st_mtime_ns
    monkeypatch.setattr(judging, "run_key", lambda job: "another program")
    judge(work)
    assert runs(work) == 2
    assert (work.folder / "rendered" / "truth.json").stat().st_mtime_ns == first


def test_half_a_rendering_is_thrown_away(tmp_path: Path) -> None:
    work = made(tmp_path, keep=True)
    (work.folder / "rendered").mkdir(parents=True)
    (work.folder / "rendered" / "half.mp4").write_bytes(b"cut")
    judge(work)
    assert not (work.folder / "rendered" / "half.mp4").exists()


def test_a_failed_night_is_told_and_tried_again(tmp_path: Path) -> None:
    records = judge_all([made(tmp_path), made(tmp_path, seed=13)], workers=2)
    told = report([judged(record) for record in records])
    assert "plain-nest-13 (see log.txt of each)" in told
    assert "| nights run | 1 (1 failed) |" in told
    assert "no recording" in (made(tmp_path, seed=13).folder / "log.txt").read_text(encoding="utf-8")
    judge(made(tmp_path, seed=13))
    assert runs(made(tmp_path, seed=13)) == 2


def test_the_table_says_what_was_found(tmp_path: Path) -> None:
    told = report([judged(judge(made(tmp_path, seed=seed))) for seed in (1, 2)])
    assert told.startswith("Building seeds: 1, 2.")
    assert "| nests found | 2/2 | 2/2 |" in told
    assert "| start error, min | 5.0 / 5.0 | 5.0 / 5.0 |" in told
    # Two of two: the exact interval starts at 0.025 ** (1/2) = 15.8 %.
    assert "Nests found: 2/2 (exact 95 % interval 16–100 %)." in told


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no resource module to count with")
def test_cpu_seconds_are_those_of_the_command_and_its_children() -> None:
    burn = "import time\nend = time.process_time() + 0.5\nwhile time.process_time() < end: pass"
    inner = f"import subprocess, sys; subprocess.run([sys.executable, '-c', {burn!r}]); sys.exit(7)"
    used = measured([sys.executable, "-c", inner])
    assert used.code == 7
    assert used.cpu_s is not None
    assert 0.5 <= used.cpu_s < 2.5
    held = measured([sys.executable, "-c", "x = bytearray(200 << 20); x[::4096] = b'1' * len(x[::4096])"])
    assert held.peak_mb is not None
    assert 200 <= held.peak_mb < 260


def test_building_and_judging_seeds_are_kept_apart() -> None:
    assert not set(BUILDING) & {*JUDGING, *HARD_JUDGING}
    assert len(FIRST_SET) == len(JUDGING) == 5
    assert kind_of((1, JUDGING[0])) == "mixed seeds"
    assert kind_of(HARD_JUDGING) == "judging seeds"
    for seeds in JUDGED_BEFORE.values():
        assert kind_of(seeds) == "seeds that judged an earlier method"
        assert not set(seeds) & set(HARD_JUDGING)
