"""A spot's series keeps its steps and loses the grain of a noisy picture."""

from __future__ import annotations

import numpy as np
import pytest

from nestwatch.ground.records import CELL, Bins, Floats, Grid
from nestwatch.ground.spot import series_at
from tests.ground.half_minutes import half_minutes

PLACE = (30.0, 34.0)
SPAN = (100, 300)


def bins(*, dark_from: int = 400) -> Bins:
    steps = np.arange(400)
    return half_minutes(
        steps, Grid(0, 0, 64, 72, (1.0, 1.0), 16.0), spell=(steps >= dark_from).astype(np.int16)
    )


def stir(noise: float, *, seed: int = 1) -> Floats:
    """Work of strength 0.8 in bins 100 to 200 at one cell, then quiet, over ground of some `noise`."""
    out = np.random.default_rng(seed).normal(0.0, noise, (400, 16, 18)).astype(np.float32)
    out[100:200, int(PLACE[0] // CELL), int(PLACE[1] // CELL)] += 0.8
    return out


@pytest.mark.parametrize("seed", range(4))
def test_a_clean_picture_is_left_as_it_is(seed: int) -> None:
    series = stir(0.1, seed=seed)
    found = series_at(bins(), series, PLACE, SPAN, reach_px=8.0)
    cell = series[100:300, int(PLACE[0] // CELL), int(PLACE[1] // CELL)]
    assert np.array_equal(found, cell)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("noise", [0.2, 0.3, 0.4])
def test_grain_is_brought_down_to_the_usual_and_the_step_kept(noise: float, seed: int) -> None:
    """Averages of n independent values have a spread smaller by the root of n."""
    found = series_at(bins(), stir(noise, seed=seed), PLACE, SPAN, reach_px=8.0)
    assert found[4:96].std() < max(0.17, noise / np.sqrt(7) * 1.3)
    assert found[:96].mean() - found[104:].mean() == pytest.approx(0.8, abs=0.1)


def test_half_minutes_without_frames_stay_unknown() -> None:
    series = stir(0.3)
    series[150:156] = np.nan
    found = series_at(bins(), series, PLACE, SPAN, reach_px=8.0)
    assert np.isnan(found[50:56]).all()
    assert np.isfinite(np.delete(found, range(50, 56))).all()


def test_a_stay_of_which_no_side_was_seen_in_its_light_is_left_as_it_is() -> None:
    series = stir(0.3)
    night = bins(dark_from=0)
    found = series_at(night, series, PLACE, (0, 400), reach_px=8.0)
    assert np.array_equal(found, series[:, int(PLACE[0] // CELL), int(PLACE[1] // CELL)])
