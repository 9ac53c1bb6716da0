"""Stays that are no animals of their own: bare ground, crumbs of a clear stay beside them, weather."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from nestwatch.ground.records import Bins
from nestwatch.nesting.animals import beside
from nestwatch.nesting.stays import BESIDE_SHELLS, REACH_SHELLS, Stay, apart, mass

_CRUMBS = ((0.35, BESIDE_SHELLS), (0.12, REACH_SHELLS))
"""Share of the clear stay's mass below which, and distance in shells within which, a stay is part of it."""
_WITHIN = 0.6
_COMPANY = 4


def without_ground(stays: Sequence[Stay], bins: Bins, *, touch_s: float = 360.0) -> list[Stay]:
    """`stays` less the bare ground beside them: what is seen from one side only, does not stir, and begins
    or ends just where a stay seen from both sides at the same place ends or begins."""
    whole = [s for s in stays if s.start_seen and s.end_seen]
    return [s for s in stays if s in whole or not any(beside(s, other, bins, touch_s) for other in whole)]


def without_crumbs(stays: Sequence[Stay], bins: Bins) -> list[Stay]:
    """`stays` less the faint ones beside a clear one and within its time: soil that it throws, its limbs,
    stirring that the coarse cells put a shell away."""
    clear = [s for s in stays if mass(s) > 0]
    return [s for s in stays if not any(_crumb_of(s, other, bins) for other in clear if other is not s)]


def _crumb_of(stay: Stay, other: Stay, bins: Bins) -> bool:
    shared = min(stay.last, other.last) - max(stay.first, other.first)
    within = shared >= _WITHIN * (stay.last - stay.first)
    # Stirring is measured in squares of the usual shell's size.
    shell = max(bins.grid.shell_px if np.isnan(stay.looks) else 0.0, bins.grid.shell_at(other.row))
    away = np.hypot(stay.row - other.row, stay.column - other.column) / shell
    share = mass(stay) / mass(other)
    return bool(within and any(share < most and away <= far for most, far in _CRUMBS))


def without_weather(stays: Sequence[Stay], bins: Bins) -> list[Stay]:
    """`stays` less those told of by stirring alone while many other spots stirred as long: rain, wind."""
    unseen = [s for s in stays if np.isnan(s.looks)]
    return [s for s in stays if s not in unseen or _companions(s, unseen, bins) < _COMPANY]


def _companions(stay: Stay, others: Sequence[Stay], bins: Bins) -> int:
    """How many spots away from this one stirred for most of its time."""
    least = _WITHIN * (stay.last - stay.first)
    return sum(
        min(stay.last, other.last) - max(stay.first, other.first) >= least
        and apart(stay, other, bins.grid) > 2 * REACH_SHELLS
        for other in others
    )
