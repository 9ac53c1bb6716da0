"""What a fit of the likelihood is made of, as it is read out.

Likelihoods are 0..1. `as built` is the likelihood of the program before any fit to this site. Instants are
aware UTC datetimes, nights the dates of their evenings. None is unknown, or stands for what there is not.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
from numpy.typing import NDArray

from nestwatch.nesting.scale import Scale
from nestwatch.shares import exact_interval


@dataclass(frozen=True, slots=True)
class Entries:
    """Entries of many nights: `likelihood` (n,) 0..1, `eggs` (n,) bool, `night` (n,) number of the night.

    `nights`: how many nights there were, with entries or without.
    """

    likelihood: NDArray[np.float64]
    eggs: NDArray[np.bool_]
    night: NDArray[np.int64]
    nights: int


@dataclass(frozen=True, slots=True)
class Bin:
    """Entries of about the same likelihood: mean of what was claimed, how many held eggs, of how many."""

    claimed: float
    held: int
    total: int

    @property
    def share(self) -> float:
        """The share that held eggs, 0..1."""
        return self.held / self.total

    @property
    def interval(self) -> tuple[float, float]:
        """The exact 95 % interval of that share."""
        return exact_interval(self.held, self.total) or (0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Judged:
    """Likelihoods held against what was found: the Brier score (0 is perfect) and the bins, low to high."""

    brier: float
    bins: tuple[Bin, ...]


@dataclass(frozen=True, slots=True)
class Counts:
    """Digs of scans by what is known of them.

    `eggs`, `empty`, `set_aside`: settled by the keeper, and fitted on. Left out: `rests` that nobody dug up
    and `waiting` ones, of which nothing is known, and settled ones that are `unlisted`, not in the latest
    scan of their night any more. `other_program`: of those fitted on, scanned by another version of nestwatch
    than this one.
    """

    eggs: int = 0
    empty: int = 0
    set_aside: int = 0
    rests: int = 0
    waiting: int = 0
    unlisted: int = 0
    other_program: int = 0

    @property
    def without(self) -> int:
        """Finds without eggs."""
        return self.empty + self.set_aside

    @property
    def finds(self) -> int:
        """Finds that are fitted on."""
        return self.eggs + self.without


@dataclass(frozen=True, slots=True)
class Fit:
    """A fit as it is entered in the record.

    `nights`: how many the finds are of. `brier_before`: of the likelihoods as built; `brier_after`: with each
    night judged by a fit without it. `program`: the version of nestwatch that made it.
    """

    id: int
    fitted_at: datetime
    scale: Scale
    finds: int
    with_eggs: int
    nights: int
    brier_before: float
    brier_after: float
    program: str

    def repeats(self, finds: int, scale: Scale) -> bool:
        """Whether it is what a fit to so many finds with such a scale would be."""
        return self.finds == finds and self.scale.near(scale)


@dataclass(frozen=True, slots=True)
class FitState:
    """How it stands with the likelihood of a site.

    `in_force`: the fit that nights are scanned with, None: as built. `minimum`: finds of each kind (with
    eggs, without) that a fit needs. `before`: likelihoods as built against the finds, None without finds.
    `after`: the same with each night judged by a fit without it, `scale` what a fit to all finds of today
    would be; both None where none can be made, and `why_not` says why. `earlier`: nights whose digs have
    other likelihoods than a scan of today would give them, by date.
    """

    in_force: Fit | None
    counts: Counts
    minimum: int
    before: Judged | None
    after: Judged | None
    scale: Scale | None
    why_not: str | None
    earlier: tuple[date, ...]

    @property
    def is_newest(self) -> bool:
        """Whether a fit of today would be the one in force once more."""
        if self.in_force is None or self.scale is None:
            return False
        return self.in_force.repeats(self.counts.finds, self.scale)

    @property
    def helps(self) -> bool:
        """Whether a fit of today would be nearer to the finds of nights that it has not seen."""
        return self.before is not None and self.after is not None and self.after.brier < self.before.brier
