"""Which of the stays seen in one light are animals: ground that differs from what comes later looks like one.

Only what is seen from both sides tells by itself which is which; from one side, edges and briefness do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from nestwatch.ground.measure import stands_out
from nestwatch.ground.records import Bins
from nestwatch.nesting.stays import BESIDE_SHELLS, Stay, apart, mass

_FEWEST_TILES = 3
_CLEAR_LOOK = 0.5
_BRIEFER = 0.15
_FRAGMENT = 0.35
"""Share of a clear stay's mass below which one that overlaps it is only a piece of it."""


def is_animal(stay: Stay, bins: Bins) -> bool:
    """False where a stay is too little of a change, or, seen from one side only, is bare ground."""
    if np.isnan(stay.looks):
        return True
    if stay.tiles < _FEWEST_TILES and stay.looks < _CLEAR_LOOK:
        return False
    if stay.start_seen == stay.end_seen:
        return True
    if stay.tiles < _FEWEST_TILES:
        return False
    span = 20
    inside, outside = (stay.first, stay.first + span), (stay.first - 2 - span, stay.first - 2)
    if stay.end_seen:
        inside, outside = (stay.last - span, stay.last), (stay.last + 2, stay.last + 2 + span)
    inside = max(stay.first, inside[0]), min(stay.last, inside[1])
    out = stands_out(bins.at(stay.row), (stay.row, stay.column), inside, outside)
    return not out + _BRIEFER * np.log(_rest_of_spell(stay, bins) / (stay.last - stay.first)) < 0


def _rest_of_spell(stay: Stay, bins: Bins) -> int:
    """Bins of the stay's light spell that lie outside it (at least 1): the ground is there for longer."""
    return max(1, int((bins.spell == bins.spell[stay.first]).sum()) - (stay.last - stay.first))


def animals_of(looks: Sequence[Stay], bins: Bins) -> list[Stay]:
    """The stays of `looks` (one light spell) that are animals; ground seen from one side gives its other.

    Bare ground that lasts until some instant and then looks different until the light changes tells of an
    animal as surely as the animal's own box does, which may be too short to stand out.
    """
    animals = [stay for stay in looks if is_animal(stay, bins)]
    whole = [s for s in animals if s.start_seen and s.end_seen and s.tiles >= _FEWEST_TILES]
    animals = [s for s in animals if s in whole or not any(_covers(s, other, bins) for other in whole)]
    animals = [s for s in animals if not any(_outdone(s, other, bins) for other in animals)]
    for stay in looks:
        one_sided = stay.start_seen != stay.end_seen and stay not in animals
        longer = _rest_of_spell(stay, bins) < stay.last - stay.first
        if one_sided and longer and stay.tiles >= _FEWEST_TILES:
            other = _other_side(stay, bins)
            animals = [
                a for a in animals if not (_with(other, a, bins) and mass(a) < _FRAGMENT * mass(other))
            ]
            if not any(beside(stay, a, bins, 600.0) or _with(other, a, bins) for a in animals):
                animals.append(other)
    return animals


def _with(stay: Stay, other: Stay, bins: Bins) -> bool:
    """True where two stays share time at nearly one place: a dig throws soil on the ground beside."""
    overlap = stay.first < other.last and other.first < stay.last
    return overlap and apart(stay, other, bins.grid) <= BESIDE_SHELLS


def _covers(stay: Stay, other: Stay, bins: Bins) -> bool:
    """True where a stay seen from one side only takes in one at the same place that was seen whole."""
    one_sided = stay.start_seen != stay.end_seen
    near = apart(stay, other, bins.grid) <= BESIDE_SHELLS
    return bool(one_sided and near and stay.first < other.last and other.first < stay.last)


def _outdone(stay: Stay, other: Stay, bins: Bins) -> bool:
    """True where a stay from the spell's start and one to its end meet at one place and `other` looks
    clearer: both cannot be the animal."""
    opposite = stay.start_seen == other.end_seen and stay.start_seen != stay.end_seen
    near = apart(stay, other, bins.grid) <= BESIDE_SHELLS
    touch = 360.0 / bins.step_s
    meet = stay.first < other.last + touch and other.first < stay.last + touch
    opposite = opposite and other.start_seen != other.end_seen
    return bool(opposite and near and meet and bins.spell[stay.first] == bins.spell[other.first]
                and other.looks > stay.looks)  # fmt: skip


def _other_side(ground: Stay, bins: Bins) -> Stay:
    members = np.flatnonzero(bins.spell == bins.spell[ground.first])
    first, last = (ground.last, int(members[-1]) + 1) if ground.end_seen else (int(members[0]), ground.first)
    return replace(
        ground, first=first, last=max(last, first + 1), start_seen=ground.end_seen, end_seen=ground.start_seen
    )


def beside(stay: Stay, other: Stay, bins: Bins, touch_s: float) -> bool:
    """True where `stay` does not stir and meets `other`, a shell or so away, just as that comes or goes."""
    near = apart(stay, other, bins.grid) <= BESIDE_SHELLS
    touch = touch_s / bins.step_s
    meets = abs(stay.last - other.first) <= touch or abs(stay.first - other.last) <= touch
    return bool(near and meets and np.isnan(stay.stirs))
