"""What measurements between posts leave open, and which distance would settle it.

Two kinds. A **loose** post can still be moved without any measurement resisting. A **mirrored** part of the
pen can be folded over the line through two posts with all measurements kept: a place at two distances from
two posts lies on either side of their line. Both follow from how frameworks of rods behave (rigid or not,
unique or not); here they are found by trying, on the solved places.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from nestwatch.site.adjustment import BLUNDER
from nestwatch.site.measurements import Measurement
from nestwatch.site.survey import Survey, loose_posts, solve_from

Floats = NDArray[np.float64]

_DIFFERENT_M = 0.05
_WORTH_SOLVING = 1e4  # misfit per measurement beyond which a folded shape is not even tried


@dataclass(frozen=True, slots=True)
class Gap:
    """Something that is open. `posts`: whose places it touches. `add`: a distance that would settle it, None
    where no further distance can."""

    kind: Literal["loose", "mirrored"]
    posts: tuple[str, ...]
    add: tuple[str, str] | None

    def sentence(self) -> str:
        """One line for the keeper."""
        named = _listed(self.posts)
        can = "can still move" if self.kind == "loose" else "could as well lie mirrored, on the other side"
        remedy = (
            f'measure "{self.add[0]}" to "{self.add[1]}"' if self.add else "give the place of one more post"
        )
        return f"{named} {can} with all measurements kept; {remedy}"


def _listed(names: tuple[str, ...]) -> str:
    quoted = [f'"{name}"' for name in names]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} and {quoted[-1]}"


def survey_gaps(survey: Survey) -> tuple[Gap, ...]:
    """Everything that is open; () where the measurements fix all posts against each other.

    That a whole plan of distances alone may be its own mirror image is no gap: `Survey.gauge` says what was
    chosen. Mirrored parts are looked for once nothing is loose.
    """
    moving = loose_posts(survey.loose)
    if moving.any():
        names = tuple(name for name, loose in zip(survey.posts, moving, strict=True) if loose)
        return (Gap("loose", names, _stiffening(survey)),)
    return _mirrored(survey)


def _stiffening(survey: Survey) -> tuple[str, str] | None:
    """The unmeasured distance that resists the open movements most."""
    pairs = list(_unmeasured(survey))
    if not pairs:
        return None
    slopes = [Measurement("distance", pair, 0, 1, "").slope(survey.at).ravel() for pair in pairs]
    resist = np.linalg.norm(np.array(slopes) @ survey.loose, axis=1)
    return _names(survey, pairs[int(np.argmax(resist))]) if resist.max() > 1e-6 else None


def _unmeasured(survey: Survey) -> Iterator[tuple[int, int]]:
    """Pairs without a distance, and not both of known place."""
    measured = {frozenset(m.posts) for m in survey.measurements if m.kind == "distance"}
    known = {m.posts[0] for m in survey.measurements if m.kind == "x"} | set(_held(survey))
    for pair in combinations(range(len(survey.posts)), 2):
        if frozenset(pair) not in measured and not known.issuperset(pair):
            yield pair


def _held(survey: Survey) -> list[int]:
    return [int(n) for n in np.flatnonzero(survey.held.all(axis=1))]


def _names(survey: Survey, pair: tuple[int, int]) -> tuple[str, str]:
    return survey.posts[pair[0]], survey.posts[pair[1]]


def _mirrored(survey: Survey) -> tuple[Gap, ...]:
    here, gaps, seen = solve_from(survey, survey.at)[1], [], set()
    for folded in _foldings(survey):
        other = _folded_solution(survey, folded, here)
        if other is None:
            continue
        moved = _moved(survey, other)
        if moved and moved not in seen:
            seen.add(moved)
            names = tuple(survey.posts[n] for n in moved)
            gaps.append(Gap("mirrored", names, _telling(survey, other)))
    return tuple(sorted(gaps, key=lambda gap: len(gap.posts)))[: _most(gaps)]


def _most(gaps: list[Gap]) -> int:
    """Only the smallest parts: folding two parts at once tells nothing new."""
    return sum(len(gap.posts) == min(len(g.posts) for g in gaps) for gap in gaps) if gaps else 0


def _folded_solution(survey: Survey, folded: Floats, here: float) -> Floats | None:
    off = np.array([(m.expected(folded) - m.value) / m.sigma for m in survey.measurements])
    if np.square(off).sum() > _WORTH_SOLVING * max(len(off), 1):
        return None
    other, misfit = solve_from(survey, folded)
    return other if misfit <= here + BLUNDER**2 else None


def _foldings(survey: Survey) -> Iterator[Floats]:
    """The places with a part folded over the line through two posts: every part that hangs on the two only,
    and every single post (which may be seen from posts on one line)."""
    count = len(survey.posts)
    for pair in combinations(range(count), 2):
        rest = [n for n in range(count) if n not in pair]
        parts = {frozenset(part) for part in _parts(survey, rest)} | {frozenset([n]) for n in rest}
        for part in sorted(parts, key=sorted):
            members = sorted(part)
            if not survey.held[members].any():
                yield _fold(survey.at, pair, members)


def _parts(survey: Survey, rest: list[int]) -> Iterator[set[int]]:
    """Groups of the posts in `rest` that measurements join."""
    left = set(rest)
    while left:
        part, edge = set(), {left.pop()}
        while edge:
            part |= edge
            joined = {n for m in survey.measurements if edge & set(m.posts) for n in m.posts}
            edge = (joined & left) - part
            left -= edge
        yield part


def _fold(at: Floats, pair: tuple[int, int], members: list[int]) -> Floats:
    along = at[pair[1]] - at[pair[0]]
    along = along / max(float(np.linalg.norm(along)), 1e-12)
    out = at.copy()
    rel = at[members] - at[pair[0]]
    out[members] = at[pair[0]] + 2 * np.outer(rel @ along, along) - rel
    return out


def _moved(survey: Survey, other: Floats) -> tuple[int, ...]:
    """Posts that really lie elsewhere: on the plan where places are known, else against the other posts."""
    if not survey.gauge:
        shift = np.linalg.norm(other - survey.at, axis=1)
        return tuple(int(n) for n in np.flatnonzero(shift > _DIFFERENT_M))
    change = np.abs(_distances(other) - _distances(survey.at)) > _DIFFERENT_M
    return _smaller_side(change)


def _distances(at: Floats) -> Floats:
    return np.asarray(np.linalg.norm(at[:, np.newaxis] - at, axis=2), np.float64)


def _smaller_side(change: NDArray[np.bool_]) -> tuple[int, ...]:
    """Of the posts whose distances changed: the fewest that take part in every change."""
    touched = [int(n) for n in np.flatnonzero(change.any(axis=1))]
    for size in range(1, len(touched) + 1):
        for chosen in combinations(touched, size):
            keep = [n for n in touched if n not in chosen]
            if not change[np.ix_(keep, keep)].any():
                return chosen
    return ()


def _telling(survey: Survey, other: Floats) -> tuple[str, str] | None:
    """The unmeasured distance in which the two explanations differ most."""
    pairs = list(_unmeasured(survey))
    if not pairs:
        return None
    gaps = [abs(_distances(other)[pair] - _distances(survey.at)[pair]) for pair in pairs]
    return _names(survey, pairs[int(np.argmax(gaps))]) if max(gaps) > _DIFFERENT_M else None
