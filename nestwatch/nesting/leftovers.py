"""Stays that are no animals of their own: bare ground, crumbs of a clear stay beside them, wind, weather."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from nestwatch.ground.records import Bins
from nestwatch.nesting.animals import beside
from nestwatch.nesting.stays import BESIDE_SHELLS, REACH_SHELLS, Stay, apart, mass

_CRUMBS = ((0.35, BESIDE_SHELLS), (0.12, REACH_SHELLS))
"""Share of the clear stay's mass below which, and distance in shells within which, a stay is part of it."""
_WITHIN = 0.6
_EDGE_SLACK_S, _FELLOWS = 8 * 60.0, 2
_COMPANY = 4
_OWN_TILES, _OWN_S, _OWN_LONG_S = 4, 4 * 60.0, 40 * 60.0


def without_ground(stays: Sequence[Stay], bins: Bins, *, touch_s: float = 360.0) -> list[Stay]:
    """`stays` less the bare ground beside them: what is seen from one side only, does not stir, and begins
    or ends just where a stay seen from both sides at the same place ends or begins."""
    whole = [s for s in stays if s.start_seen and s.end_seen]
    return [s for s in stays if s in whole or not any(beside(s, other, bins, touch_s) for other in whole)]


def without_middle(stays: Sequence[Stay], bins: Bins) -> list[Stay]:
    """`stays` less the ground between two animals side by side, that one covers as she comes and the other
    still covers as she leaves: it looks like a longer stay of one."""
    return [s for s in stays if not any(_between(s, a, b, bins) for a in stays for b in stays)]


def _between(stay: Stay, early: Stay, late: Stay, bins: Bins) -> bool:
    """True where `stay` begins with `early` and ends with `late`, which share some time, beside both."""
    slack = _EDGE_SLACK_S / bins.step_s
    begins = abs(stay.first - early.first) <= slack and early.last < stay.last - slack
    ends = abs(stay.last - late.last) <= slack and late.first > stay.first + slack
    near = all(apart(stay, other, bins.grid) <= BESIDE_SHELLS for other in (early, late))
    fewer = stay.tiles < min(early.tiles, late.tiles)
    return bool(begins and ends and late.first < early.last and near and fewer)


def without_wind(stays: Sequence[Stay], bins: Bins) -> list[Stay]:
    """`stays` less those that begin and end with others far away: leaves that the wind stirs, wet ground."""
    return [stay for stay in stays if sum(_fellows(stay, other, bins) for other in stays) < _FELLOWS]


def _fellows(stay: Stay, other: Stay, bins: Bins) -> bool:
    """True for two stays seen from both sides that come and go together, too far apart to be one."""
    slack = _EDGE_SLACK_S / bins.step_s
    whole = stay.start_seen and stay.end_seen and other.start_seen and other.end_seen
    together = abs(stay.first - other.first) <= slack and abs(stay.last - other.last) <= slack
    return bool(whole and together and apart(stay, other, bins.grid) > 2 * REACH_SHELLS)


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
    faint = any(share < most and away <= far for most, far in _CRUMBS)
    return bool(within and faint and not _on_its_own(stay, other, bins))


def _on_its_own(stay: Stay, other: Stay, bins: Bins) -> bool:
    """True where a long stay that was seen whole came and went at times of its own, and was there without
    the `other`: no limb outlasts its animal, and thrown soil stays."""
    slack = _OWN_S / bins.step_s
    whole = stay.start_seen and stay.end_seen and stay.tiles >= _OWN_TILES
    apart_in_time = abs(stay.first - other.first) > slack and abs(stay.last - other.last) > slack
    alone = stay.first < other.first - slack or stay.last > other.last + slack
    return bool(whole and apart_in_time and alone and (stay.last - stay.first) * bins.step_s >= _OWN_LONG_S)


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
