"""When the hind end took over from the front, on hand-made energies around an animal."""

from __future__ import annotations

import math

import numpy as np
import pytest

from nestwatch.ground.ends import dig_begins, rear_over_front
from nestwatch.ground.records import CELL, Bins, Grid
from tests.ground.half_minutes import half_minutes

SHELL = 18.0
CENTRE = (60.0, 70.0)


def night(searched: int, dug: int, *, heading: float, seed: int, dark_from: int | None = None) -> Bins:
    """`searched` half minutes in which the head stirs, then `dug` in which the hind feet do.

    `heading`: radians of the head from +column towards +row. `dark_from`: infrared from this bin on.
    """
    rng = np.random.default_rng(seed)
    count = searched + dug
    rows, columns = (np.indices((32, 36)) + 0.5) * CELL - 0.5
    energy = rng.gamma(30.0, 3.0 / 30.0, (count, 32, 36))
    for i in range(count):
        share = 0.62 if i < searched else -0.58
        row, column = (
            CENTRE[0] + share * SHELL * math.sin(heading),
            CENTRE[1] + share * SHELL * math.cos(heading),
        )
        power = 14.0 if rng.random() < 0.8 else 0.0
        energy[i] += power * np.exp(-((rows - row) ** 2 + (columns - column) ** 2) / (2 * 4.0**2))
    steps = np.arange(count)
    spell = (steps >= (count if dark_from is None else dark_from)).astype(np.int16)
    grid = Grid(0, 0, 128, 144, (1.0, 1.0), SHELL)
    return half_minutes(steps, grid, energy=energy.astype(np.float32), spell=spell)


def rear(heading: float) -> tuple[float, float]:
    return CENTRE[0] - 0.5 * SHELL * math.sin(heading), CENTRE[1] - 0.5 * SHELL * math.cos(heading)


@pytest.mark.parametrize("heading", [0.0, 1.1, 2.6, -1.5])
@pytest.mark.parametrize("searched", [6, 12, 30])
def test_the_dig_begins_where_the_hind_end_takes_over(searched: int, heading: float) -> None:
    bins = night(searched, 120, heading=heading, seed=searched)
    assert dig_begins(bins, CENTRE, rear(heading), 0, 150) == pytest.approx(searched, abs=2)


@pytest.mark.parametrize("seed", range(8))
def test_an_animal_that_digs_at_once_did_not_search(seed: int) -> None:
    assert dig_begins(night(0, 120, heading=0.7, seed=seed), CENTRE, rear(0.7), 0, 120) == 0


@pytest.mark.parametrize("seed", range(8))
def test_a_front_end_that_goes_on_working_is_no_dig_begun(seed: int) -> None:
    bins = night(120, 0, heading=0.7, seed=seed)
    assert dig_begins(bins, CENTRE, rear(0.7), 0, 120) == 0


def test_only_the_light_of_the_beginning_is_compared() -> None:
    """Energies of two lights are on different scales."""
    bins = night(10, 110, heading=0.2, seed=5, dark_from=40)
    assert dig_begins(bins, CENTRE, rear(0.2), 0, 120) == pytest.approx(10, abs=2)


def test_without_a_heading_nothing_is_told() -> None:
    assert dig_begins(night(10, 110, heading=0.2, seed=6), CENTRE, CENTRE, 0, 120) == 0


def test_half_minutes_without_a_pair_of_frames_are_unknown() -> None:
    bins = night(10, 110, heading=0.2, seed=7)
    bins.energy[20:26] = np.nan
    ratio = rear_over_front(bins, CENTRE, rear(0.2), 0, 120)
    assert np.isnan(ratio[20:26]).all()
    assert np.isfinite(np.delete(ratio, range(20, 26))).all()
    assert dig_begins(bins, CENTRE, rear(0.2), 0, 120) == pytest.approx(10, abs=2)
