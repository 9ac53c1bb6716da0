"""What was measured between posts, as numbers: the value that places of posts would give, and its slope."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from nestwatch.site.records import Point, Square, Tape

Floats = NDArray[np.float64]

SQUARE_SIGMA = 0.005
"""How far from right a right angle is: radians, 5 mm a metre (our choice; common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Known:
    """A post whose place on the plan is known. `sigma_m` 0 holds it there."""

    post: str
    at: Point
    sigma_m: float = 0.01


@dataclass(frozen=True, slots=True)
class Measurement:
    """One number that was measured. `posts`: positions of the posts it touches, an angle's corner first.

    `value`, `sigma`: metres for a distance and a coordinate, radians for an angle.
    """

    kind: Literal["distance", "angle", "x", "y"]
    posts: tuple[int, ...]
    value: float
    sigma: float
    words: str

    def expected(self, places: Floats) -> float:
        """What posts at `places` (n, 2) would give."""
        if self.kind in {"x", "y"}:
            return float(places[self.posts[0], "xy".index(self.kind)])
        if self.kind == "distance":
            return float(np.linalg.norm(places[self.posts[1]] - places[self.posts[0]]))
        one, other = places[list(self.posts[1:])] - places[self.posts[0]]
        return float(abs(np.arctan2(one[0] * other[1] - one[1] * other[0], one @ other)))

    def slope(self, places: Floats) -> Floats:
        """(n, 2) derivatives of `expected`; 0 where posts coincide and there is no direction."""
        out = np.zeros_like(places)
        if self.kind in {"x", "y"}:
            out[self.posts[0], "xy".index(self.kind)] = 1
        elif self.kind == "distance":
            first, second = self.posts
            direction = _over(places[second] - places[first], 1)
            out[first], out[second] = -direction, direction
        else:
            corner, first, second = self.posts
            one, other = places[first] - places[corner], places[second] - places[corner]
            side = 1.0 if one[0] * other[1] - one[1] * other[0] >= 0 else -1.0
            out[first] = -side * _over(np.array([-one[1], one[0]]), 2)
            out[second] = side * _over(np.array([-other[1], other[0]]), 2)
            out[corner] = -out[first] - out[second]
        return out


def _over(vector: Floats, power: int) -> Floats:
    length = float(np.linalg.norm(vector))
    return np.asarray(vector / length**power, np.float64) if length > 1e-9 else np.zeros(2)


def as_measurements(
    posts: tuple[str, ...], known: tuple[Known, ...], tapes: tuple[Tape, ...], squares: tuple[Square, ...]
) -> list[Measurement]:
    """All of it in this order: tapes, squares, then x and y of each known place that may move."""
    number = {name: n for n, name in enumerate(posts)}
    found = [
        Measurement(
            "distance", (number[t.between[0]], number[t.between[1]]), t.metres, t.sigma_m, _tape_words(t)
        )
        for t in tapes
    ]
    for square in squares:
        place = (number[square.at], number[square.between[0]], number[square.between[1]])
        found.append(Measurement("angle", place, np.pi / 2, SQUARE_SIGMA, _square_words(square)))
    for one in (k for k in known if k.sigma_m > 0):
        for axis, value in zip("xy", one.at, strict=True):
            words = f'{axis} of "{one.post}"'
            found.append(Measurement(axis, (number[one.post],), value, one.sigma_m, words))  # type: ignore[arg-type]
    return found


def _tape_words(tape: Tape) -> str:
    return f'"{tape.between[0]}" to "{tape.between[1]}"'


def _square_words(square: Square) -> str:
    return f'right angle at "{square.at}" between "{square.between[0]}" and "{square.between[1]}"'
