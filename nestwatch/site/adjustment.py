"""What a least-squares fit leaves behind: covariance, redundancy, and which measurement is probably wrong.

Standard theory of adjustment: with measurements of covariance S, Jacobian A and residuals v (fitted minus
measured), Q = (A' S^-1 A)^-1 is the covariance of the unknowns and S - A Q A' that of the residuals. Baarda
(1968, A testing procedure for use in geodetic networks) tests one supposed mistake at a time: if the
measurements g alone are wrong, the mistake is (M_gg)^-1 (S^-1 v)_g with M = S^-1 (S - A Q A') S^-1. It is
also what the other measurements predict minus what was measured. (Formulas from memory; the tests hold them
against leaving measurements out.)
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

BLUNDER = 3.29
"""A normalised residual beyond this occurs by chance once in 1000 sound measurements (two-sided normal)."""
_UNCHECKED = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Adjustment:
    """`covariance`: (p, p) of the unknowns, from the stated sigmas alone. `redundancy`: (m,) from 0 (nothing
    checks this measurement) to 1 (wholly checked); they sum to m - p. `normal`: (m, m) is M above.
    `weighted`: (m,) is S^-1 v. `misfit`: v' S^-1 v, about m - p where the stated sigmas are right.
    """

    covariance: Floats
    redundancy: Floats
    normal: Floats
    weighted: Floats
    misfit: float

    def normalised(self) -> Floats:
        """(m,) residuals over their own sigma (the w-test); NaN where nothing checks the measurement."""
        own = np.diag(self.normal)
        checked = self.redundancy > _UNCHECKED
        size = np.sqrt(np.where(checked, own, np.nan))
        return np.asarray(self.weighted / size, np.float64)

    def mistake(self, group: list[int]) -> tuple[Floats, float]:
        """Supposing only these measurements are wrong: what the others say minus what was measured, and how
        much `misfit` falls without them. NaN and 0.0 where nothing checks them."""
        block = self.normal[np.ix_(group, group)]
        if min(self.redundancy[group]) <= _UNCHECKED or np.linalg.cond(block) > 1e12:
            return np.full(len(group), np.nan), 0.0
        size = np.linalg.solve(block, self.weighted[group])
        return np.asarray(size, np.float64), float(size @ self.weighted[group])


def adjust(jacobian: Floats, residuals: Floats, spread: Floats) -> Adjustment:
    """`jacobian` (m, p), `residuals` (m,) fitted minus measured, `spread` (m, m) their covariance.

    Directions of the unknowns that nothing fixes take no part (pseudo-inverse); see `unfixed`.
    """
    weight = np.linalg.inv(spread)
    covariance = np.linalg.pinv(jacobian.T @ weight @ jacobian, rcond=1e-13, hermitian=True)
    left = spread - jacobian @ covariance @ jacobian.T
    weighted = weight @ residuals
    return Adjustment(
        covariance=np.asarray(covariance, np.float64),
        redundancy=np.asarray(np.clip(np.diag(left @ weight), 0, 1), np.float64),
        normal=np.asarray(weight @ left @ weight, np.float64),
        weighted=np.asarray(weighted, np.float64),
        misfit=float(residuals @ weighted),
    )


def unfixed(jacobian: Floats, sigmas: Floats) -> Floats:
    """(p, k) orthonormal directions of the unknowns that no measurement resists; k = 0 where all is fixed."""
    _, sizes, rows = np.linalg.svd(jacobian / sigmas[:, np.newaxis])
    strong = int(np.sum(sizes > 1e-6 * max(sizes.max(initial=0.0), 1e-300)))
    return np.asarray(rows[strong:].T, np.float64)
