"""Exact binomial intervals: how sure a share of few cases is. Pure.

It stands by itself since the season's tally and the scoring of invented nights, which share nothing else,
tell shares in the same way.
"""

from __future__ import annotations

from scipy.special import betaincinv

OUTSIDE = 0.05
"""The chance left outside of the interval, both sides together: a 95 % interval."""


def exact_interval(count: int, of: int) -> tuple[float, float] | None:
    """The 95 % interval (low, high), each 0..1, of a share of `count` in `of` cases; None without a case.

    Clopper and Pearson 1934, Biometrika 26: 404-413, by the quantiles of the beta distribution. `ValueError`
    where `count` is not between 0 and `of`.
    """
    if not 0 <= count <= of:
        raise ValueError(f"{count} of {of} cases cannot be")
    if of == 0:
        return None
    low = float(betaincinv(count, of - count + 1, OUTSIDE / 2)) if count else 0.0
    high = float(betaincinv(count + 1, of - count, 1 - OUTSIDE / 2)) if count < of else 1.0
    return low, high
