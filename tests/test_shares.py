"""Exact binomial intervals against another computation of them, and against printed values."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from nestwatch.shares import exact_interval


@pytest.mark.parametrize(
    ("count", "of", "low", "high"),
    [
        # The example in the help of R's binom.test (Conover 1971, p. 97), from memory.
        pytest.param(682, 925, 0.7076683, 0.7654066, id="Conover"),
        # Tables of exact limits in textbooks of medical statistics, from memory.
        pytest.param(0, 10, 0.0, 0.3085, id="none of ten"),
        pytest.param(5, 10, 0.1871, 0.8129, id="half of ten"),
        pytest.param(10, 10, 0.6915, 1.0, id="all of ten"),
    ],
)
def test_printed_values(count: int, of: int, low: float, high: float) -> None:
    assert exact_interval(count, of) == pytest.approx((low, high), abs=5e-5)


@given(st.integers(1, 400).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of))))
def test_as_scipy_finds_it_by_search(case: tuple[int, int]) -> None:
    """scipy.stats searches the binomial distribution for the limits; here they are quantiles of the beta."""
    count, of = case
    other = binomtest(count, of).proportion_ci(confidence_level=0.95, method="exact")
    assert exact_interval(count, of) == pytest.approx((other.low, other.high), abs=1e-9)


def test_the_closed_form_where_there_is_none() -> None:
    """0 of n: 0 to 1 - 0.025^(1/n) (Thulin 2014, Electron. J. Stat. 8: 817, as R's GenBinomApps has it)."""
    assert exact_interval(0, 7) == pytest.approx((0.0, 1 - 0.025 ** (1 / 7)))


def test_no_case_has_no_interval() -> None:
    assert exact_interval(0, 0) is None
    with pytest.raises(ValueError, match="3 of 2 cases"):
        exact_interval(3, 2)
