"""Where the eggs lie: under the rear edge of the shell, on the body's axis.

The hole is dug by the hind feet alone, under the tail; the head points away from it (see docs/method.md
for sources). Which end is the rear is told by where limbs moved and where the ground changed. Without a
heading the answer is the body's centre and a radius of more than half a shell.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

Place = tuple[float, float]
_CLEAR_HEADING = 0.10
_RADIUS_CLEAR = 0.38
_RADIUS_UNCLEAR = 0.70


@dataclass(frozen=True, slots=True)
class Clue:
    """A place (row, column) that tells where the rear is, and its weight."""

    row: float
    column: float
    weight: float


@dataclass(frozen=True, slots=True)
class Chamber:
    """(row, column) of the egg chamber in window pixels, and a radius that holds it in 90 % of cases."""

    row: float
    column: float
    radius: float


def find_chamber(
    centre: Place, shell_px: float, *, axis: float | None, clues: list[Clue], soil: Clue | None
) -> Chamber:
    """The chamber of an animal at `centre` (row, column).

    `axis`: angle of its long axis in radians from +column towards +row, None where unknown. `clues`: places
    that moved. `soil`: centre of the ground that changed, which pulls the answer towards itself.
    """
    toward = _toward(centre, clues)
    if axis is not None and toward is not None:
        along = (math.sin(axis), math.cos(axis))
        share = (along[0] * toward[0] + along[1] * toward[1]) / shell_px
        direction = along if share >= 0 else (-along[0], -along[1])
        clear = abs(share) >= _CLEAR_HEADING
    elif toward is not None:
        size = math.hypot(*toward)
        direction = (toward[0] / max(size, 1e-6), toward[1] / max(size, 1e-6))
        clear = size >= _CLEAR_HEADING * shell_px
    else:
        direction, clear = (0.0, 0.0), False
    reach = 0.5 * shell_px if clear else 0.0
    row, column = centre[0] + reach * direction[0], centre[1] + reach * direction[1]
    radius = (_RADIUS_CLEAR if clear else _RADIUS_UNCLEAR) * shell_px
    if soil is not None:
        row += soil.weight * (soil.row - row)
        column += soil.weight * (soil.column - column)
    return Chamber(row, column, radius)


def _toward(centre: Place, clues: list[Clue]) -> Place | None:
    total = sum(clue.weight for clue in clues)
    if total <= 0:
        return None
    row = sum(clue.weight * clue.row for clue in clues) / total - centre[0]
    column = sum(clue.weight * clue.column for clue in clues) / total - centre[1]
    return row, column
