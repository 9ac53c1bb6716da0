"""`python dev.py fit-likelihood`: fit the likelihood on building nights, for `nesting/evidence.py`.

Platt scaling: the logit z that the night file's likelihood stands for becomes a z + b, with a and b by
scikit-learn's logistic regression over the stored nights with building seeds. Two numbers, because so few
nights carry no more (scikit-learn's guide advises against isotonic fits well below a thousand cases). Whether
they help is told by nights left out, never by the nights they were fitted on. Fitted on invented nights until
the keeper's own finds replace them.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit
from sklearn.linear_model import LogisticRegression
from sklearn.metrics import brier_score_loss
from sklearn.model_selection import GroupKFold

from bench.judge import STORE
from bench.reliability import stored_entries
from bench.seeds import BUILDING

Floats = NDArray[np.float64]
FOLDS = 5
SURE = 1e-3  # a likelihood of 0 or 1 would be an infinite logit; night files round


@dataclass(frozen=True, slots=True)
class Scale:
    """Log odds become `slope` times log odds plus `offset`."""

    slope: float
    offset: float

    def __call__(self, likelihood: Floats) -> Floats:
        """Likelihoods (n,) 0..1 put right."""
        return np.asarray(expit(self.slope * log_odds(likelihood) + self.offset), np.float64)


def log_odds(likelihood: Floats) -> Floats:
    """Log odds (n,), bounded."""
    return np.asarray(logit(np.clip(likelihood, SURE, 1 - SURE)), np.float64)


def fit(likelihood: Floats, eggs: NDArray[np.bool_]) -> Scale:
    """The scale that fits best; a slight pull to slope 0 (scikit-learn's default C = 1) keeps it finite where
    the likelihood parts the entries without a mistake."""
    model = LogisticRegression().fit(log_odds(likelihood)[:, None], eggs)
    return Scale(float(model.coef_[0, 0]), float(model.intercept_[0]))


def left_out(likelihood: Floats, eggs: NDArray[np.bool_], night: NDArray[np.int64]) -> Floats:
    """What each entry is given by a scale fitted without its night and every night of its fold."""
    given = np.empty_like(likelihood)
    for train, test in GroupKFold(FOLDS).split(likelihood, eggs, night):
        given[test] = fit(likelihood[train], eggs[train])(likelihood[test])
    return given


def main(words: Sequence[str] | None = None) -> int:
    """Print the two numbers and the Brier scores. 1 where too few building nights are stored."""
    parser = argparse.ArgumentParser(prog="dev.py fit-likelihood", description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--seeds", nargs="+", type=int, default=list(BUILDING), help="Seeds to fit on.")
    entries = stored_entries(STORE, parser.parse_args(words).seeds)
    if len(set(entries.night.tolist())) < FOLDS or len(set(entries.eggs.tolist())) < 2:
        print(
            "too few building nights are stored; run dev.py nights or bad-nights with --seeds",
            file=sys.stderr,
        )
        return 1
    scale = fit(entries.likelihood, entries.eggs)
    given = left_out(entries.likelihood, entries.eggs, entries.night)
    before, after = (brier_score_loss(entries.eggs, p) for p in (entries.likelihood, given))
    print(f"{len(entries.eggs)} entries of {entries.nights} building nights; {entries.eggs.sum()} held eggs.")
    print(f"log odds = {scale.slope:.3f} * z {scale.offset:+.3f}")
    print(f"Brier score as it is {before:.4f}; with nights left out, fitted {after:.4f}.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
