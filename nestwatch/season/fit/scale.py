"""The two numbers of a scale, and what they give to nights they were not fitted on. Pure.

Platt scaling (Platt 1999, Advances in Large Margin Classifiers): a logistic regression of what was found on
the log odds that were given. Two numbers and no more: scikit-learn's guide advises against a free (isotonic)
curve well below a thousand cases, and a straight line keeps the order of the digs.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from nestwatch.nesting.scale import Floats, Scale, log_odds

FOLDS = 5


class OneSided(ValueError):
    """Finds of one kind alone remain where some nights are left out."""


def fit(likelihood: Floats, eggs: NDArray[np.bool_]) -> Scale:
    """The scale that fits best; a slight pull to slope 0 (scikit-learn's default C = 1) keeps it finite where
    the likelihood parts the entries without a mistake. Raises `OneSided`."""
    from sklearn.linear_model import LogisticRegression

    if eggs.all() or not eggs.any():
        raise OneSided
    model = LogisticRegression().fit(log_odds(likelihood)[:, None], eggs)
    return Scale(float(model.coef_[0, 0]), float(model.intercept_[0]))


def left_out(likelihood: Floats, eggs: NDArray[np.bool_], night: NDArray[np.int64]) -> Floats:
    """What each entry is given by a scale fitted without its night and every night of its fold.

    Needs entries of at least `FOLDS` nights. Raises `OneSided`.
    """
    from sklearn.model_selection import GroupKFold

    given = np.empty_like(likelihood)
    for train, test in GroupKFold(FOLDS).split(likelihood, eggs, night):
        given[test] = fit(likelihood[train], eggs[train])(likelihood[test])
    return given
