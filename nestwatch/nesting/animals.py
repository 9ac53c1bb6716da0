"""Which of the stays seen in one light are animals: ground that differs from what comes later looks like one.

Only what is seen from both sides tells by itself which is which; from one side, edges and briefness do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from nestwatch.ground.measure import stands_out
from nestwatch.ground.records import Bins
from nestwatch.nesting.stays import BESIDE_SHELLS, REACH_SHELLS, Stay, apart, mass

_FEWEST_TILES = 3
_CLEAR_LOOK = 0.5
_BRIEFER = 0.15
_FRAGMENT = 0.35
"""Share of a clear stay's mass below which one that overlaps it is only a piece of it."""
_CHANGE_S = 600.0
_FAR_CLEARER, _WITH_S = 4.0, 240.0

Held = tuple[Stay, float]
"""An animal that was there when the light changed, and how sure that is (log odds, 0 or more)."""


def animals_of_night(by_spell: Sequence[Sequence[Stay]], bins: Bins) -> list[Stay]:
    """The stays that are animals, of the looks of every light spell in turn.

    Who lies on a spot just after the light changed lay there just before: what one light cannot tell from one
    side only, the clearer evidence of the next one decides.
    """
    found = [animals_of(looks, bins) for looks in by_spell]
    out: list[Stay] = []
    for number, looks in enumerate(by_spell):
        neighbours = [at for at in (number - 1, number + 1) if 0 <= at < len(found)]
        there = [stay for at in neighbours for stay in found[at] if _holds(stay, later=at > number)]
        held = [(stay, max(0.0, _odds(stay, bins))) for stay in there]
        out += animals_of(looks, bins, held) if held else found[number]
    return out


def _holds(stay: Stay, *, later: bool) -> bool:
    """True for a clear stay of the light before that is there to its end, or of the `later` one from its
    start."""
    seen, unseen = (stay.end_seen, stay.start_seen) if later else (stay.start_seen, stay.end_seen)
    return seen and not unseen and stay.tiles >= _FEWEST_TILES and stay.looks >= _CLEAR_LOOK


def is_animal(stay: Stay, bins: Bins, held: Sequence[Held] = ()) -> bool:
    """False where a stay is too little of a change, or, seen from one side only, is bare ground.

    `held`: animals of the lights before and after that were there at the change, each with its odds.
    """
    if np.isnan(stay.looks):
        return True
    if stay.tiles < _FEWEST_TILES and stay.looks < _CLEAR_LOOK:
        return False
    if stay.start_seen == stay.end_seen:
        return True
    if stay.tiles < _FEWEST_TILES:
        return False
    return _odds(stay, bins) + _hint(stay, bins, held) >= 0


def _hint(stay: Stay, bins: Bins, held: Sequence[Held]) -> float:
    """What the neighbouring lights say of a stay seen from one side: above 0 for an animal, as sure as they
    are themselves; below 0 for the ground before it came or after it left."""
    hints = [
        _hint_of(stay, other, odds, bins)
        for other, odds in held
        if apart(stay, other, bins.grid) <= BESIDE_SHELLS
    ]
    return max(hints, key=abs, default=0.0)


def _hint_of(stay: Stay, other: Stay, odds: float, bins: Bins) -> float:
    later = other.first > stay.first
    members = np.flatnonzero(bins.spell == bins.spell[stay.first])
    change = (members[-1], other.first) if later else (other.last - 1, members[0])
    if bins.times[change[1]] - bins.times[change[0]] > _CHANGE_S:
        return 0.0
    meets = not stay.end_seen if later else not stay.start_seen
    return odds if meets else -odds


def _odds(stay: Stay, bins: Bins) -> float:
    """Above 0 where a stay seen from one side looks like an animal, below where it looks like the ground."""
    span = 20
    inside, outside = (stay.first, stay.first + span), (stay.first - 2 - span, stay.first - 2)
    if stay.end_seen:
        inside, outside = (stay.last - span, stay.last), (stay.last + 2, stay.last + 2 + span)
    inside = max(stay.first, inside[0]), min(stay.last, inside[1])
    out = stands_out(bins.at(stay.row), (stay.row, stay.column), inside, outside)
    odds = float(out + _BRIEFER * np.log(_rest_of_spell(stay, bins) / (stay.last - stay.first)))
    return 0.0 if np.isnan(odds) else odds


def _rest_of_spell(stay: Stay, bins: Bins) -> int:
    """Bins of the stay's light spell that lie outside it (at least 1): the ground is there for longer."""
    return max(1, int((bins.spell == bins.spell[stay.first]).sum()) - (stay.last - stay.first))


def animals_of(looks: Sequence[Stay], bins: Bins, held: Sequence[Held] = ()) -> list[Stay]:
    """The stays of `looks` (one light spell) that are animals; ground seen from one side gives its other.

    Bare ground that lasts until some instant and then looks different until the light changes tells of an
    animal as surely as the animal's own box does, which may be too short to stand out. `held`: see
    `is_animal`.
    """
    animals = [stay for stay in looks if is_animal(stay, bins, held)]
    whole = [s for s in animals if s.start_seen and s.end_seen and s.tiles >= _FEWEST_TILES]
    scars = [s for s in looks if any(_scar_of(s, other, bins) for other in whole)]
    animals = [s for s in animals if s in whole or not any(_covers(s, other, bins) for other in whole)]
    animals = [s for s in animals if s not in scars]
    animals = [s for s in animals if not any(_outdone(s, other, bins) for other in animals)]
    for stay in [look for look in looks if look not in animals and look not in scars]:
        one_sided = stay.start_seen != stay.end_seen
        longer = _rest_of_spell(stay, bins) < stay.last - stay.first
        backed = one_sided and _hint(stay, bins, held) < 0
        if one_sided and (longer or backed) and stay.tiles >= _FEWEST_TILES:
            other, share = _other_side(stay, bins), 1.0 if backed else _FRAGMENT
            animals = [a for a in animals if not (_with(other, a, bins) and mass(a) < share * mass(other))]
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


def _scar_of(stay: Stay, other: Stay, bins: Bins) -> bool:
    """True where a faint stay seen from one side takes in a far clearer one beside it that was seen whole,
    and ends or begins with it: ground that the other animal changed, as a raider does."""
    if stay.start_seen == stay.end_seen or mass(other) < _FAR_CLEARER * mass(stay):
        return False
    slack = _WITH_S / bins.step_s
    off = stay.last - other.last if stay.end_seen else stay.first - other.first
    within = stay.first <= other.first + slack and other.last <= stay.last + slack
    return bool(within and abs(off) <= slack and apart(stay, other, bins.grid) <= REACH_SHELLS)


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
