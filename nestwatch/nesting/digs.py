"""From half-minute bins to digs: stays found, looked at closely, called. Pure: pictures in full rate come
through a reader that the caller hands in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.boxes import find_boxes
from nestwatch.ground.edges import refine_edge
from nestwatch.ground.epochs import make_epochs
from nestwatch.ground.records import CELL, Bins, Floats
from nestwatch.ground.stir import find_stirs, stirring
from nestwatch.nesting.animals import animals_of_night
from nestwatch.nesting.leftovers import (
    without_crumbs,
    without_ground,
    without_middle,
    without_weather,
    without_wind,
)
from nestwatch.nesting.light import Light, behind_leaves, retimed
from nestwatch.nesting.look import BurstReader, Context, Look
from nestwatch.nesting.records import Dig
from nestwatch.nesting.stays import (
    Stay,
    bridge,
    join,
    over_pauses,
    stays_of_boxes,
    stays_of_stirs,
    with_stirs,
)

_SHORTEST_S = 8 * 60.0


def find_digs(bins: Bins, context: Context, read_burst: BurstReader) -> list[Dig]:
    """Every stay of a camera's night as a `Dig`, unranked; rests included."""
    if not len(bins.times):
        return []
    stir = stirring(bins)
    stays = find_stays(bins, stir, context.wanted)
    looks = [Look(bins, stir, stay, context, read_burst) for stay in stays]
    return [look.dig() for look in looks if look.worth_listing()]


def find_stays(bins: Bins, stir: Floats, wanted: NDArray[np.bool_]) -> list[Stay]:
    """Stays in the window, by look and by stirring, joined; edges to half a minute."""
    cells = wanted[CELL // 2 :: CELL, CELL // 2 :: CELL][: stir.shape[1], : stir.shape[2]]
    by_spell: list[list[Stay]] = []
    lit: list[Stay] = []
    for spell in np.unique(bins.spell):
        epochs = make_epochs(bins, int(spell))
        half = wanted[::2, ::2][: epochs.picture.shape[1], : epochs.picture.shape[2]]
        boxes = find_boxes(epochs, half)
        by_spell.append(stays_of_boxes([box for box in boxes if not box.lit], epochs, bins))
        lit += stays_of_boxes([box for box in boxes if box.lit], epochs, bins)
    animals = animals_of_night(by_spell, bins)
    light = Light(animals, bins)
    animals = light.without(without_wind(animals, bins))
    animals = join(without_middle(animals, bins), bins)
    seen = bridge([_sharpened(stay, bins) for stay in animals], bins)
    stirs = join(stays_of_stirs(find_stirs(bins, stir, cells), bins), bins)
    stirs = over_pauses(bridge(stirs, bins), bins)
    stays = with_stirs(without_ground(join(seen, bins), bins), stirs, bins)
    stays = without_weather(without_crumbs(stays, bins), bins)
    stays = [s for s in stays if (s.last - s.first) * bins.step_s >= _SHORTEST_S]
    stays = retimed(light.without(stays), bins)
    return [*stays, *behind_leaves(lit, stirs, stays, bins)]


def _sharpened(stay: Stay, bins: Bins) -> Stay:
    if np.isnan(stay.looks):
        return stay
    spell = int(bins.spell[stay.first])
    place, near = (stay.row, stay.column), bins.at(stay.row)
    first = refine_edge(near, place, stay.first, spell=spell) if stay.start_seen else stay.first
    last = refine_edge(near, place, stay.last, spell=spell) if stay.end_seen else stay.last
    if last - first < 4:
        return stay
    return replace(stay, first=first, last=last)
