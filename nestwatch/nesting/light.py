"""Stays that are only light, under which the ground shows as before and after: shadows, webs, leaves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from nestwatch.ground.grain import covered_span, grain_kept
from nestwatch.ground.records import Bins
from nestwatch.nesting.stays import Stay

_SHOWS, _SHOWS_AMONG_OTHERS, _OTHERS = 0.7, 0.5, 3
"""Share of the ground's grain that shows through a stay from which on nothing lay there. On invented building
nights it was -0.4 to 0.6 for animals, 0.7 for one behind leaves, and mostly 0.6 to 1 for shadows and webs
that stayed half an hour."""
_RETIME_S = 120.0


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
