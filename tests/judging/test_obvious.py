"""The obvious script: fair enough to be beaten honestly."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bench import obvious
from bench.judge import read_json
from nestwatch.synthetic.scoring import score_night

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "synthetic" / "night"


def still(first: float, last: float, x: float = 50.0) -> list[tuple[float, list[tuple[float, float]]]]:
    """Looks every 10 s at something that stays at (x, 40)."""
    return [(float(at), [(x, 40.0)]) for at in np.arange(first, last + 1, 10)]


def test_twenty_minutes_on_one_spot_are_a_dwell() -> None:
    long, short = obvious.follow(still(0, 1200), 16), obvious.follow(still(0, 1190), 16)
    assert [(dwell.first, dwell.last) for dwell in long] == [(0, 1200)]
    assert (long[0].x, long[0].y) == (50, 40)
    assert short == []


def test_a_dwell_outlives_two_minutes_out_of_sight() -> None:
    seen, lost = (obvious.follow([*still(0, 700), *still(again, 1500)], 16) for again in (820, 830))
    assert [(dwell.first, dwell.last) for dwell in seen] == [(0, 1500)]
    assert lost == []


def test_what_walks_on_does_not_dwell() -> None:
    steps = [look for k in range(20) for look in still(100 * k, 100 * k + 90, x=20.0 * k)]
    assert obvious.follow(steps, 16) == []


def test_only_what_has_the_animals_size_counts() -> None:
    mask, zone = np.zeros((80, 160), np.uint8), np.ones((80, 160), np.uint8)
    mask[30:43, 20:36] = 255  # 208 pixels: an ellipse of 16 by 13 has 161
    mask[10:13, 60:63] = 255  # an insect
    mask[5:75, 90:150] = 127  # a person's shadow
    assert obvious.blobs(mask, zone, 16) == [(27.5, 36.0)]
    zone[:, :40] = 0
    assert obvious.blobs(mask, zone, 16) == []


@pytest.mark.parametrize(("variant", "found"), [("default", False), ("patient", True)])
def test_a_long_history_finds_the_sample_nest_and_the_usual_one_absorbs_it(
    tmp_path: Path, variant: str, found: bool
) -> None:
    words = [variant, str(SAMPLE / "site.toml"), "--date", "2026-06-12", "--out", str(tmp_path)]
    assert obvious.main(words) == 0
    score = score_night(read_json(SAMPLE / "truth.json"), read_json(tmp_path / "night.json"))
    assert (score.events[0].call == "nest") is found
