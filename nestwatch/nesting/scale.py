"""The likelihood put right by two numbers that were fitted to what keepers found. Pure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from math import isclose

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit

from nestwatch.nesting.records import Dig

Floats = NDArray[np.float64]
SURE = 1e-3  # a likelihood of 0 or 1 would be an infinite logit; night files round

_SAME = 1e-6


@dataclass(frozen=True, slots=True)
class Scale:
    """Log odds become `slope` times log odds plus `offset` (Platt 1999).

    A slope above 0 keeps the order of what it is applied to.
    """

    slope: float
    offset: float

    def __call__(self, likelihood: Floats) -> Floats:
        """Likelihoods (n,) 0..1 put right."""
        return np.asarray(expit(self.slope * log_odds(likelihood) + self.offset), np.float64)

    def near(self, other: Scale) -> bool:
        """Whether both are the same but for rounding."""
        return isclose(self.slope, other.slope, abs_tol=_SAME) and isclose(
            self.offset, other.offset, abs_tol=_SAME
        )

    def one(self, likelihood: float) -> float:
        """A single likelihood put right."""
        return float(self(np.array([likelihood]))[0])


@dataclass(frozen=True, slots=True)
class SiteFit:
    """A scale fitted to one site's finds: `finds` of them, `with_eggs`, at the instant `at` (aware)."""

    scale: Scale
    finds: int
    with_eggs: int
    at: datetime


def log_odds(likelihood: Floats) -> Floats:
    """Log odds (n,), bounded."""
    return np.asarray(logit(np.clip(likelihood, SURE, 1 - SURE)), np.float64)


def put_right(dig: Dig, scale: Scale | None) -> Dig:
    """`dig` with its likelihood by `scale` and the one as built beside it; unchanged for None."""
    if scale is None:
        return dig
    return replace(dig, likelihood=scale.one(dig.likelihood), likelihood_as_built=dig.likelihood)
