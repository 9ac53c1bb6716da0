"""What is printed and drawn of the likelihoods of invented nights."""

from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest

from bench import fit_likelihood, reliability
from bench.seeds import JUDGING
from nestwatch.season.fit.records import Bin


def test_the_table_gives_exact_intervals() -> None:
    # 0 of 2: the upper end is 1 - 0.025 ** (1/2) = 84 %.
    assert reliability.table([Bin(0.04, 0, 2)]).endswith("| 4 % | 0/2 | 0 % | 0–84 % |")


def record(folder: Path, *, seed: int, claimed: float, variant: str = "") -> None:
    """A judged night with one nest and one entry about it."""
    span = {"from": "2026-06-12T20:00:00+02:00", "to": "2026-06-12T22:00:00+02:00", "stages": []}
    seen = {"bank": {"chamber_px": [100, 100], "body_px": [110, 100], "shell_px": 20}}
    event = {**span, "kind": "nest", "chamber_m": None, "per_camera": seen}
    dig = {**span, "rank": 1, "camera": "bank", "call": "nest", "likelihood": claimed}
    dig |= {"pixel": [100, 100], "plan_m": None, "within_m": None}
    folder.mkdir()
    judged = {"seed": seed, "variant": variant, "code": 0, "truth": {"animals": [{"events": [event]}]}}
    judged["night"] = {"footage": [], "digs": [dig]}
    (folder / "judged.json").write_text(json.dumps(judged), encoding="utf-8")


def test_it_reads_the_stored_nights_prints_and_draws(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(reliability, "STORE", tmp_path)
    for seed, claimed in enumerate((0.8, 0.9, 1.0), start=JUDGING[0]):
        record(tmp_path / f"night-{seed}", seed=seed, claimed=claimed)
    record(tmp_path / "building", seed=1, claimed=0.1)
    record(tmp_path / "quiet", seed=JUDGING[0], claimed=0.1, variant="quiet")
    picture = tmp_path / "diagram.png"
    assert reliability.main(["--picture", str(picture)]) == 0
    told = capsys.readouterr().out
    assert told.startswith("3 entries of 3 nights; 3 held eggs.")
    # (0.2² + 0.1² + 0) / 3 = 0.01667
    assert "Brier score 0.017" in told
    first = picture.read_bytes()
    drawn = cv2.imdecode(np.frombuffer(first, np.uint8), cv2.IMREAD_COLOR)
    assert drawn is not None
    assert drawn.shape == (720, 690, 3)
    reliability.main(["--picture", str(picture)])
    assert picture.read_bytes() == first


def test_without_nights_it_says_what_to_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for module in (reliability, fit_likelihood):
        monkeypatch.setattr(module, "STORE", tmp_path)
        assert module.main([]) == 1
        assert "bad-nights" in capsys.readouterr().err
