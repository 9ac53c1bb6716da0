"""What was wrong with a camera's picture, when, and which parts of the window could be judged."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np
from numpy.typing import NDArray

What = Literal["moved", "sagged", "lost", "dark", "frozen", "glare", "fogged", "blurred", "covered", "burnt"]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Finding:
    """Something a keeper can act on.

    `what`: `moved` (at once), `sagged` (slowly), `lost` (the picture fits the night's own no more), `dark`,
    `frozen` (one frame repeated), `glare` (white), `fogged` (all structure weak), `blurred` (fine detail
    gone), `covered` (part of the zone hidden by something on or near the lens: drops, a web), `burnt`
    (part of it burnt white, by a spider close to the lens or by a lamp).
    `amount`: picture pixels moved for `moved` and `sagged`, else the share of the nesting zone, 0..1.
    """

    what: What
    start: datetime
    end: datetime
    amount: float


@dataclass(frozen=True, slots=True)
class Health:
    """A camera's health over a night of n bins.

    `seen`: bool (n, rows, columns), whether each patch of the window could be judged. `weights`: float32
    (rows, columns), share of the patch that is nesting zone. Patches divide the window evenly. `blind`: bool
    (n,), bins that show nothing of the ground at all: dark, frozen, lost.
    """

    findings: tuple[Finding, ...]
    seen: Bools
    weights: NDArray[np.float32]
    blind: Bools

    def zone_share(self) -> NDArray[np.float64]:
        """(n,) share of the nesting zone that could be judged in each bin, 0..1."""
        flat = self.seen.reshape(len(self.seen), self.weights.size).astype(np.float64)
        share = flat @ self.weights.ravel() / max(float(self.weights.sum()), 1e-6)
        return np.asarray(np.clip(share, 0.0, 1.0), np.float64)

    def unseen_share(self, weight_s: NDArray[np.floating], whole_s: float) -> NDArray[np.float64]:
        """(rows, columns) share of `whole_s` seconds in which each patch was not judged.

        `weight_s`: (n,) seconds that each bin speaks for, 0 for bins that do not count.
        """
        seconds = np.tensordot(np.asarray(weight_s, np.float64), self.seen.astype(np.float64), axes=1)
        return np.asarray(np.clip(1 - seconds / max(whole_s, 1e-6), 0.0, 1.0), np.float64)
