"""Calibration figures, against scikit-learn and by hand."""

from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import expit
from sklearn.calibration import calibration_curve
from sklearn.metrics import brier_score_loss, log_loss

from bench import fit_likelihood, reliability
from bench.reliability import Bin
from bench.seeds import JUDGING

CLAIMED = np.array([0.02, 0.05, 0.11, 0.15, 0.18, 0.52, 0.58, 0.91, 0.97, 1.0])
EGGS = np.array([0, 0, 0, 0, 1, 1, 0, 1, 1, 1], bool)


def test_bins_by_hand() -> None:
    parts = reliability.bins(CLAIMED, EGGS)
    assert [(part.held, part.total) for part in parts] == [(0, 2), (1, 3), (1, 2), (3, 3)]
    assert [part.claimed for part in parts] == pytest.approx([0.035, 0.44 / 3, 0.55, 2.88 / 3])


def test_bins_agree_with_scikit_learn_on_many_entries() -> None:
    rng = np.random.default_rng(3)
    claimed = np.concatenate([rng.random(400), np.arange(11) / 10])  # with values on the edges
    eggs = rng.random(len(claimed)) < claimed
    share, mean = calibration_curve(eggs, claimed, n_bins=10)
    parts = reliability.bins(claimed, eggs)
    assert [part.held / part.total for part in parts] == pytest.approx(share)
    assert [part.claimed for part in parts] == pytest.approx(mean)
    assert sum(part.total for part in parts) == len(eggs)
    assert sum(part.held for part in parts) == eggs.sum()


def test_the_table_gives_exact_intervals() -> None:
    # 0 of 2: the upper end is 1 - 0.025 ** (1/2) = 84 %.
    assert reliability.table([Bin(0.04, 0, 2)]).endswith("| 4 % | 0/2 | 0 % | 0–84 % |")


def test_a_cramped_likelihood_is_put_right() -> None:
    """Log odds halved and shifted: the fit must find a slope of 2 and the shift, within its own error."""
    rng = np.random.default_rng(4)
    true = rng.normal(0, 2, 20_000)
    eggs = rng.random(len(true)) < 1 / (1 + np.exp(-true))
    said = 1 / (1 + np.exp(-(true - 1) / 2))
    scale = fit_likelihood.fit(said, eggs)
    assert [scale.slope, scale.offset] == pytest.approx([2, 1], abs=0.1)
    assert brier_score_loss(eggs, scale(said)) < brier_score_loss(eggs, said)


def test_left_out_nights_are_not_fitted_on() -> None:
    """Likelihoods that mean nothing but that two nights are alike: fitted within, they look good; left out
    by night, they cannot."""
    night = np.repeat(np.arange(10), 20)
    eggs = (night % 2).astype(bool)
    rng = np.random.default_rng(5)
    said = rng.uniform(0.3, 0.7, len(eggs))
    given = fit_likelihood.left_out(said, eggs, night)
    assert given.shape == said.shape
    assert brier_score_loss(eggs, given) > 0.245  # a coin's 0.25


def test_the_scale_has_the_greatest_likelihood() -> None:
    """Platt 1999 defines it so; scipy's minimiser finds the same two numbers but for the slight pull."""
    rng = np.random.default_rng(6)
    z = rng.normal(0, 1.5, 3000)
    eggs = rng.random(len(z)) < expit(1.7 * z - 0.6)

    def surprise(numbers: NDArray[np.float64]) -> float:
        return float(log_loss(eggs, expit(numbers[0] * z + numbers[1])))

    best = minimize(surprise, np.zeros(2)).x
    ours = fit_likelihood.fit(expit(z), eggs)
    assert [ours.slope, ours.offset] == pytest.approx(best.tolist(), abs=0.02)


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
    assert drawn.shape[0] == drawn.shape[1] == 690
    reliability.main(["--picture", str(picture)])
    assert picture.read_bytes() == first


def test_without_nights_it_says_what_to_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for module in (reliability, fit_likelihood):
        monkeypatch.setattr(module, "STORE", tmp_path)
        assert module.main([]) == 1
        assert "bad-nights" in capsys.readouterr().err
