"""Stages of a stay from how it stirred: dig, then a quiet stretch while the eggs are laid, then cover.

Three stories are told about the half minutes of a stay and the likeliest one is kept: nothing but rest;
digging and leaving; digging, a quiet stretch of 6 to 75 minutes, and stirring again to cover. Each story is a
row of stretches with its own share of active half minutes; the best cut points come from dynamic
programming over all of them (a left-to-right segment model, Ostendorf et al. 1996,
doi 10.1109/89.536930, with Bernoulli emissions). Bounds on lengths follow published nests:
E. orbicularis 60–145 min in all (Najbar & Szuszkiewicz 2005), digging 20–180 min (Booth 2011).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
_LOUD_SHARE = 0.25
_ACTIVE_RANGE = (0.21, 1.20)
_SOFTNESS = 0.10
_LEAST_PART = 16
"""Half minutes that a light spell must have within a stay to tell its quiet from its loud ones."""
_EVIDENCE = 0.35
"""Half minutes are not independent (strokes come in runs), so each counts for about a third."""

_CHANCE = 1.0
"""Taken from the nest's score: with two more cut points it can make a laying of any chance row of pauses."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """One part of a story: `name`, share of active half minutes, shortest and longest length in minutes."""

    name: str
    share: float
    shortest: float
    longest: float


_DIG = Stretch("dig", 0.82, 12, 300)
_TRIAL_DIG = Stretch("dig", 0.82, 8, 360)
_LAY = Stretch("lay", 0.10, 6, 75)
_COVER = Stretch("cover", 0.80, 5, 150)
_SETTLE = Stretch("settle", 0.12, 0, 360)
_AFTER = Stretch("after", 0.12, 0, 360)
_REST = Stretch("rest", 0.12, 0, 900)
STORIES: dict[str, tuple[Stretch, ...]] = {
    "rest": (_REST,),
    "trial": (_SETTLE, _TRIAL_DIG, _AFTER),
    "nest": (_SETTLE, _DIG, _LAY, _COVER, _AFTER),
}


@dataclass(frozen=True, slots=True)
class Told:
    """A story fitted to a stay. `score`: log likelihood. `parts`: (name, first, last) in half minutes
    [first, last) from the stay's start, empty stretches left out. Score -inf where it cannot fit."""

    score: float
    parts: tuple[tuple[str, int, int], ...]


def tell(
    stir: NDArray[np.float32], step_s: float, *, spell: NDArray[np.int16] | None = None
) -> dict[str, Told]:
    """Every story of `STORIES` fitted to `stir`: (n,) log energy ratios of a stay, NaN where not seen.

    `spell`: (n,) light spell of each half minute, None where all are of one.
    """
    level = active_levels(stir, spell)
    active = 1.0 / (1.0 + np.exp(-(stir.astype(np.float64) - level) / _SOFTNESS))
    told = {name: _fit(story, active, step_s) for name, story in STORIES.items()}
    return told | {"nest": Told(told["nest"].score - _CHANCE, told["nest"].parts)}


def active_levels(stir: NDArray[np.float32], spell: NDArray[np.int16] | None) -> Floats:
    """(n,) `active_level` of each half minute's own light: a still shell that costs the encoder no more than
    soil does in colour may cost it half as much again under infrared."""
    levels = np.full(len(stir), active_level(stir))
    for number in np.unique(spell) if spell is not None else ():
        part = spell == number
        if _LEAST_PART <= part.sum() < len(stir):
            levels[part] = active_level(stir[part])
    return levels


def active_level(stir: NDArray[np.float32]) -> float:
    """Log energy ratio above which a half minute of this stay counts as active.

    A quarter of the way from its quiet to its loud half minutes, within bounds: a still animal
    already costs the encoder more than bare ground does, and weak limbs in flat compression stir less.
    """
    known = stir[np.isfinite(stir)]
    if not len(known):
        return _ACTIVE_RANGE[0]
    quiet, loud = np.percentile(known, (8, 85))
    return float(quiet + np.clip(_LOUD_SHARE * (loud - quiet), *_ACTIVE_RANGE))


def _fit(story: tuple[Stretch, ...], active: Floats, step_s: float) -> Told:
    count = len(active)
    best = np.full(count + 1, -np.inf)
    best[0] = 0.0
    came: list[NDArray[np.int64]] = []
    for part in story:
        best, source = _extend(best, _running(part, active), part, step_s)
        came.append(source)
    if not np.isfinite(best[count]):
        return Told(float("-inf"), ())
    cuts = [count]
    for source in reversed(came):
        cuts.append(int(source[cuts[-1]]))
    cuts.reverse()
    parts = tuple((p.name, a, b) for p, a, b in zip(story, cuts[:-1], cuts[1:], strict=True) if b > a)
    return Told(float(best[count]), parts)


def _running(part: Stretch, active: Floats) -> Floats:
    likely = np.log(part.share * active + (1 - part.share) * (1 - active))
    return np.concatenate([[0.0], np.cumsum(_EVIDENCE * np.nan_to_num(likely))])


def _extend(best: Floats, running: Floats, part: Stretch, step_s: float) -> tuple[Floats, NDArray[np.int64]]:
    """For every end: the best start of this stretch and the score so far."""
    count = len(best)
    low, high = int(np.ceil(part.shortest * 60 / step_s)), int(part.longest * 60 / step_s)
    out, source = np.full(count, -np.inf), np.zeros(count, np.int64)
    for end in range(low, count):
        starts = slice(max(0, end - high), end - low + 1)
        scores = best[starts] - running[starts]
        pick = int(np.argmax(scores))
        out[end] = scores[pick] + running[end]
        source[end] = pick + starts.start
    return out, source
