"""Development by temperature against published days and against equations solved elsewhere."""

from __future__ import annotations

import numpy as np
import pytest

from nestwatch.errors import EntryError
from nestwatch.season.incubation.development import (
    DaysTable,
    DegreeDays,
    added_up,
    equivalent_of_readings,
    equivalent_of_sine,
    line_through,
)

SOFTSHELL = line_through((23.0, 97.2), (34.0, 39.4))
"""Pelodiscus sinensis: 97.2 d at 23 °C, 39.4 d at 34 °C (Du & Ji 2003, J. Therm. Biol. 28: 279-286, as read
in an abstract)."""
HOURS = np.arange(0, 24.0001, 0.1)


def test_threshold_and_sum_follow_from_two_published_points() -> None:
    """15.50 °C and 728.8 degree-days, worked out by hand from the two points above."""
    assert SOFTSHELL.threshold_c == pytest.approx(15.5017, abs=1e-4)
    assert SOFTSHELL.total == pytest.approx(728.83, abs=0.01)
    assert 1 / SOFTSHELL.rate([23.0, 34.0]) == pytest.approx([97.2, 39.4])


def test_days_between_the_points() -> None:
    """Worked out by hand; at 30 °C another source gives 50 days (seen in an excerpt)."""
    days = 1 / SOFTSHELL.rate([25.0, 28.0, 30.0])
    assert days == pytest.approx([76.73, 58.31, 50.27], abs=0.01)
    assert days[2] == pytest.approx(50, abs=0.5)


def test_changing_temperatures_add_up() -> None:
    """10 d at 26 °C and 10 d at 30 °C are 0.3430 of the whole; at 28 °C on, hatching is on day 58.31."""
    days = np.arange(0, 61, 1 / 24)
    celsius = np.where(days < 10, 26.0, np.where(days < 20, 30.0, 28.0))
    done = added_up(days, SOFTSHELL.rate(celsius))
    assert float(np.interp(20, days, done)) == pytest.approx(0.3430, abs=2e-4)
    assert float(np.interp(1.0, done, days)) == pytest.approx(58.31, abs=0.02)


@pytest.mark.parametrize(("mean", "swing", "expected"), [(20.0, 8.0, 5.211), (28.0, 4.0, 12.5)])
def test_nothing_develops_below_the_threshold(mean: float, swing: float, expected: float) -> None:
    """Mean daily max(0, T - 15.5) of a sine, integrated elsewhere; the plain mean gives 4.5."""
    model = DegreeDays(15.5, 1.0, (20.0, 35.0))
    celsius = mean + swing * np.cos(2 * np.pi * HOURS / 24)
    assert added_up(HOURS / 24, model.rate(celsius))[-1] == pytest.approx(expected, abs=0.001)


@pytest.mark.parametrize(
    ("mean", "swing", "threshold", "expected"),
    [
        (28.0, 3.0, 15.5, 28.694),
        (26.0, 4.0, 16.0, 27.456),
        (25.0, 8.0, 16.0, 30.075),
        (27.0, 0.0, 16.0, 27.0),
    ],
)
def test_equivalent_of_a_sine(mean: float, swing: float, threshold: float, expected: float) -> None:
    """Georges 1989, Oecologia (the equation from memory, solved numerically elsewhere)."""
    assert equivalent_of_sine(mean, swing, threshold) == pytest.approx(expected, abs=0.001)


@pytest.mark.parametrize(
    ("mean", "swing", "threshold"), [(28.0, 3.0, 15.5), (26.0, 4.0, 16.0), (25.0, 8.0, 16.0)]
)
def test_equivalent_of_readings_agrees_with_the_equation(mean: float, swing: float, threshold: float) -> None:
    """The half-way temperature of a sampled day is the same by definition; the two share no code."""
    celsius = mean + swing * np.cos(2 * np.pi * HOURS[:-1] / 24)
    found = equivalent_of_readings(celsius, np.ones(len(celsius)), DegreeDays(threshold, 700.0, (20.0, 35.0)))
    assert found == pytest.approx(equivalent_of_sine(mean, swing, threshold), abs=0.03)


def test_no_equivalent_below_the_threshold() -> None:
    with pytest.raises(EntryError, match="must not fall below the threshold"):
        equivalent_of_sine(20.0, 8.0, 15.5)
    assert equivalent_of_readings([10.0, 12.0], [1.0, 1.0], SOFTSHELL) is None


def test_a_table_gives_its_own_days_and_goes_between_them() -> None:
    """Mauremys reevesii: 42.74 exp(4.30 / (T - 17.28)) days (Du et al. 2007, Aquaculture, as read in an
    abstract whose bracket is unbalanced; our reading)."""
    celsius = (24.0, 26.0, 28.0, 30.0, 32.0, 34.0)
    days = (81.05, 69.98, 63.83, 59.93, 57.24, 55.27)
    assert days == pytest.approx([42.74 * np.exp(4.30 / (t - 17.28)) for t in celsius], abs=0.01)
    table = DaysTable(celsius, days)
    assert 1 / table.rate(celsius) == pytest.approx(days)
    assert 1 / float(table.rate(27.0)) == pytest.approx(42.74 * np.exp(4.30 / 9.72), rel=0.005)
    assert float(table.rate(0.0)) == 0.0
    assert float(table.rate(36.0)) > float(table.rate(34.0))
