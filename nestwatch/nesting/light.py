"""Stays that are only light, under which the ground shows as before and after: shadows, webs, leaves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from nestwatch.ground.grain import covered_span, grain_kept
from nestwatch.ground.records import Bins
from nestwatch.nesting.stays import BESIDE_SHELLS, REACH_SHELLS, Stay, apart

_SHOWS, _SHOWS_AMONG_OTHERS, _OTHERS = 0.7, 0.5, 3
"""Share of the ground's grain that shows through a stay from which on nothing lay there. On invented building
nights it was -0.4 to 0.6 for animals, 0.7 for one behind leaves, and mostly 0.6 to 1 for shadows and webs
that stayed half an hour."""
_RETIME_S = 120.0
_FEWEST_TILES, _LONG_S, _TOGETHER_S = 3, 40 * 60.0, 4 * 60.0


class Light:
    """What a night's stays show of the ground; each stay is measured once.

    A brief shadow smears less and hides more of the grain, so where several of `animals` were only light,
    less is asked for.
    """

    def __init__(self, animals: Sequence[Stay], bins: Bins) -> None:
        self._bins = bins
        self._known: dict[Stay, float] = {}
        seen = [stay for stay in animals if not np.isnan(stay.looks)]
        moves = sum(self._shown(stay) >= _SHOWS for stay in seen) >= _OTHERS
        self._most = _SHOWS_AMONG_OTHERS if moves else _SHOWS

    def without(self, stays: Sequence[Stay]) -> list[Stay]:
        """`stays` less those that are only light."""
        return [stay for stay in stays if not self._shown(stay) >= self._most]

    def _shown(self, stay: Stay) -> float:
        if stay not in self._known:
            place = stay.row, stay.column
            self._known[stay] = grain_kept(self._bins.at(stay.row), place, stay.first, stay.last)
        return self._known[stay]


def behind_leaves(
    lit: Sequence[Stay], stirs: Sequence[Stay], known: Sequence[Stay], bins: Bins
) -> list[Stay]:
    """Those of `lit`, changes through which the ground shows, that are an animal behind leaves.

    Leaves that stand over her show as before and after, and so does the ground between them. But a shadow
    stirs as it comes and as it goes; what stirs on its spot just as long as it stays is alive. `stirs`: the
    night's stirring; `known`: stays found otherwise, which are not listed again.
    """
    found = [
        replace(stay, stirs=stir.stirs, leaves=True)
        for stay in lit
        for stir in stirs
        if _as_long(stay, stir, bins)
    ]
    return [stay for stay in found if not any(_near_in_time(stay, other, bins) for other in known)]


def _as_long(stay: Stay, stir: Stay, bins: Bins) -> bool:
    """True where one no larger than an animal, and seen whole, stirs from its coming to its going."""
    edges = max(abs(stay.first - stir.first), abs(stay.last - stir.last)) * bins.step_s
    whole = stay.start_seen and stay.end_seen and (stay.last - stay.first) * bins.step_s >= _LONG_S
    small = stay.tiles >= _FEWEST_TILES and stay.extent <= REACH_SHELLS * bins.grid.shell_at(stay.row)
    return bool(whole and small and edges <= _TOGETHER_S and apart(stay, stir, bins.grid) <= BESIDE_SHELLS)


def _near_in_time(stay: Stay, other: Stay, bins: Bins) -> bool:
    overlap = min(stay.last, other.last) > max(stay.first, other.first)
    return overlap and apart(stay, other, bins.grid) <= REACH_SHELLS


def retimed(stays: Sequence[Stay], bins: Bins) -> list[Stay]:
    """`stays` from the half minute in which the ground was covered to that in which it showed again, where
    that is minutes off: a shadow, or another animal beside her, came before her or went after her."""
    return [stay if np.isnan(stay.looks) else _retimed(stay, bins) for stay in stays]


def _retimed(stay: Stay, bins: Bins) -> Stay:
    least = _RETIME_S / bins.step_s
    first, last = covered_span(bins.at(stay.row), (stay.row, stay.column), stay.first, stay.last)
    first = first if stay.start_seen and abs(first - stay.first) > least else stay.first
    last = last if stay.end_seen and abs(last - stay.last) > least else stay.last
    return replace(stay, first=first, last=last) if last - first >= 4 else stay
