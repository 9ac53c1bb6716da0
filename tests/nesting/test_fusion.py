"""Places of several cameras made one: against hand-worked examples, and truth drawn with shared errors."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import chi2

from nestwatch.nesting.fusion import PlanPlace, apart, fused

NOTHING = np.zeros((2, 2))
ROUND_90 = float(chi2.ppf(0.9, 2))


def place(x: float, y: float, own: NDArray[np.float64], shared: NDArray[np.float64] = NOTHING) -> PlanPlace:
    return PlanPlace(np.array([x, y]), own, shared)


def test_independent_places_are_weighted_by_their_inverse_variances() -> None:
    """By hand after Bevington & Robinson (2003), ch. 4: mean = sum(x / s²) / sum(1 / s²), variance
    1 / sum(1 / s²). With 1.00 m ± 3 cm and 1.10 m ± 6 cm: (1.00/9 + 1.10/36) / (5/36) = 1.02 m, 7.2 cm²."""
    both = fused([place(1.0, 2.0, np.eye(2) * 0.03**2), place(1.1, 2.0, np.eye(2) * 0.06**2)])
    np.testing.assert_allclose(both.at, [1.02, 2.0], atol=1e-12)
    np.testing.assert_allclose(both.covariance, np.eye(2) * 7.2e-4, atol=1e-12)


def test_each_camera_is_believed_across_its_line_of_sight() -> None:
    """One is sure of x and the other of y; by hand, each axis: (1/1 * a + 1/99 * b) / (1/1 + 1/99)."""
    south = place(1.0, 2.0, np.diag([1e-4, 99e-4]))
    east = place(2.0, 3.0, np.diag([99e-4, 1e-4]))
    np.testing.assert_allclose(fused([south, east]).at, [1.01, 2.99], atol=1e-9)


def test_three_places_come_to_the_same_in_any_order() -> None:
    three = [place(x, 0.0, np.eye(2) * s**2) for x, s in ((0.0, 0.05), (0.1, 0.02), (0.2, 0.1))]
    np.testing.assert_allclose(fused(three).at, fused(three[::-1]).at, atol=1e-12)


def test_an_error_that_all_share_is_not_averaged_away() -> None:
    alone = place(1.0, 1.0, NOTHING, np.eye(2) * 0.05**2)
    both = fused([alone, alone])
    np.testing.assert_allclose(both.covariance, alone.covariance, rtol=1e-3)


@pytest.mark.parametrize("correlation", [0.0, 0.5, 1.0])
def test_the_claimed_spread_holds_the_truth_whatever_the_cameras_share(correlation: float) -> None:
    """Split covariance intersection is consistent for any correlation (Julier & Uhlmann 2001, ch. 12)."""
    rng = np.random.default_rng(5)
    own = [np.diag([0.02**2, 0.05**2]), np.diag([0.06**2, 0.02**2])]
    shared = [np.eye(2) * 0.05**2, np.eye(2) * 0.07**2]
    inside = 0
    for _ in range(400):
        common = rng.normal(size=2)
        seen = []
        for o, s in zip(own, shared, strict=True):
            mixed = correlation * common + np.sqrt(1 - correlation**2) * rng.normal(size=2)
            error = np.sqrt(np.diag(s)) * mixed + np.sqrt(np.diag(o)) * rng.normal(size=2)
            seen.append(place(error[0], error[1], o, s))
        both = fused(seen)
        inside += float(both.at @ np.linalg.solve(both.covariance, both.at)) <= ROUND_90
    assert inside / 400 >= 0.87


def test_distance_is_chi_square_where_both_see_one_place() -> None:
    """Share of draws within the 90 % point of chi-square with two degrees of freedom."""
    rng = np.random.default_rng(6)
    covariance = np.array([[4e-4, 1e-4], [1e-4, 9e-4]])
    draws = [
        apart(
            PlanPlace(rng.multivariate_normal([0, 0], covariance), covariance, NOTHING),
            PlanPlace(rng.multivariate_normal([0, 0], covariance), covariance, NOTHING),
        )
        for _ in range(1000)
    ]
    assert 0.87 <= np.mean(np.array(draws) <= ROUND_90) <= 0.93


def test_no_place_is_an_error() -> None:
    with pytest.raises(ValueError, match="no place"):
        fused([])
