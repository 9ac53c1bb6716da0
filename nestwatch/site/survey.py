"""Where posts stand, from a tape: least squares over any mix of distances, right angles and known places.

What the measurements leave open is chosen, and said: with no known place the first post is the origin and the
second lies on the x axis; with one, that post is held and the next one lies level with it in x direction. The
sense (a plan or its mirror image) is then that the first post off that line lies to its left, y upward.
`site.gaps` tells what measurements still leave open between posts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.sparse.csgraph import shortest_path

from nestwatch.site.adjustment import BLUNDER, Adjustment, adjust, unfixed
from nestwatch.site.measurements import Known, Measurement, as_measurements
from nestwatch.site.records import Point, Square, Tape

Floats = NDArray[np.float64]

TAPE_SIGMA_M = 0.01
"""Standard deviation of a tape distance and of a given coordinate: 1 cm (our choice; no source)."""
_STARTS = 12
_WELL = 4.0  # a misfit of this much per measurement needs no better start


@dataclass(frozen=True, slots=True)
class Ellipse:
    """Standard (one sigma) ellipse of a place: half axes in metres, `turn_deg` of the long one, +x to +y."""

    major_m: float
    minor_m: float
    turn_deg: float


@dataclass(frozen=True, slots=True)
class Check:
    """One measurement after the fit. `measured`, `fitted`, `residual` (fitted minus measured) and `mistake`
    (what all others say minus measured) in metres, radians for an angle.

    `redundancy`: 0 (nothing checks it) to 1. `normalised`: residual over its own sigma; NaN like `mistake`
    where nothing checks it. `drop`: by how much the weighted sum of squares falls when it is left out.
    """

    words: str
    measured: float
    fitted: float
    residual: float
    redundancy: float
    normalised: float
    mistake: float
    drop: float


@dataclass(frozen=True, slots=True, eq=False)
class Survey:
    """Solved posts: `posts` names, `at` (n, 2) metres, `covariance` (2n, 2n) square metres in the order x, y
    of the first post and so on, NaN for a post that nothing fixes.

    `checks`: one per measurement, in the order tapes, squares, known places. `sigma0`: misfit against the
    stated sigmas, about 1 where they are right, NaN without a spare measurement; above 1 it widens
    `covariance`. `suspects`: positions in `checks`, the likeliest mistake first, with those that explain
    the misfit as well; () where nothing is suspicious. `gauge`: in words, what was chosen, not measured.
    `loose`: (2n, k) directions in which posts may still move.
    """

    posts: tuple[str, ...]
    at: Floats
    covariance: Floats
    checks: tuple[Check, ...]
    sigma0: float
    suspects: tuple[int, ...]
    gauge: str
    loose: Floats
    measurements: tuple[Measurement, ...]
    held: NDArray[np.bool_]

    def place(self, post: str) -> Point:
        """Metres on the plan."""
        x, y = self.at[self.posts.index(post)]
        return float(x), float(y)

    def ellipse(self, post: str) -> Ellipse:
        """How well the place of a post is known; NaN where nothing fixes it."""
        start = 2 * self.posts.index(post)
        block = self.covariance[start : start + 2, start : start + 2]
        if np.isnan(block).any():
            return Ellipse(np.nan, np.nan, np.nan)
        (minor, major), axes = np.linalg.eigh(block)
        turn = np.degrees(np.arctan2(axes[1, 1], axes[0, 1])) % 180
        return Ellipse(float(np.sqrt(max(major, 0))), float(np.sqrt(max(minor, 0))), float(turn))


def solve_posts(
    posts: Sequence[str],
    *,
    known: Sequence[Known] = (),
    tapes: Sequence[Tape] = (),
    squares: Sequence[Square] = (),
) -> Survey:
    """Least squares over all that was measured. Names in it must be among `posts`, two or more.

    Always gives a place for every post; whether the measurements fixed it is in `loose` and `survey_gaps`.
    """
    names, given = tuple(posts), tuple(known)
    found = tuple(as_measurements(names, given, tuple(tapes), tuple(squares)))
    base, held, gauge = _gauge(names, given)
    if len(given) == 1:  # its own place is the origin then, and no measurement
        found = tuple(m for m in found if m.kind not in {"x", "y"})
    at = _turned(_best(found, base, held, given, names), held, len(given))
    return _survey(names, at, found, held, gauge)


def _gauge(names: tuple[str, ...], known: tuple[Known, ...]) -> tuple[Floats, NDArray[np.bool_], str]:
    """Places to start from (NaN where unknown), which coordinates are held, and the choice in words."""
    base = np.full((len(names), 2), np.nan)
    held = np.zeros((len(names), 2), bool)
    for one in known:
        base[names.index(one.post)] = one.at
        held[names.index(one.post)] = one.sigma_m <= 0
    if len(known) >= 2:
        return base, held, ""
    first = names.index(known[0].post) if known else 0
    second = next(n for n in range(len(names)) if n != first)
    if not known:
        base[first] = 0.0
    base[second, 1] = base[first, 1]
    held[first], held[second, 1] = True, True
    place = f"({base[first, 0]:g}, {base[first, 1]:g})"
    return (
        base,
        held,
        f'"{names[first]}" was put at {place} and "{names[second]}" to its right in x direction',
    )


def _best(
    found: tuple[Measurement, ...],
    base: Floats,
    held: NDArray[np.bool_],
    known: tuple[Known, ...],
    names: tuple[str, ...],
) -> Floats:
    """The places with the smallest misfit over several starts: distances alone have many local minima."""
    best, least = np.zeros_like(base), np.inf
    for start in _starts(found, base, [names.index(one.post) for one in known]):
        at, misfit = _solve(found, np.where(held, base, start), held)
        if misfit < least - 1e-9:
            best, least = at, misfit
        if least <= _WELL * len(found) and np.isfinite(least):
            break
    return best


def _starts(found: tuple[Measurement, ...], base: Floats, known: list[int]) -> Iterator[Floats]:
    """Classical scaling of the distances along the shortest ways between posts, moved onto the known places,
    in both senses; then the same shaken more and more (seeded, so that a night always gives one answer)."""
    shape = _scaled(found, base, known)
    rng = np.random.default_rng(0)
    size = float(np.abs(shape).max()) + 0.1
    for turn in range(_STARTS):
        shaken = shape + rng.normal(0, size * (turn + 0.1) / _STARTS, shape.shape)
        for sense in (1.0, -1.0):
            yield _onto(shaken * [1.0, sense], base, known)


def _scaled(found: tuple[Measurement, ...], base: Floats, known: list[int]) -> Floats:
    """(n, 2) places by classical multidimensional scaling (Torgerson 1952), up to a turn and a mirror."""
    distance = np.full((len(base), len(base)), np.inf)
    for one in known:
        distance[one, known] = np.linalg.norm(base[known] - base[one], axis=1)
    for m in found:
        if m.kind == "distance":
            distance[m.posts[0], m.posts[1]] = distance[m.posts[1], m.posts[0]] = m.value
    for m in (m for m in found if m.kind == "angle"):
        corner, one, other = m.posts
        long = np.hypot(distance[corner, one], distance[corner, other])
        distance[one, other] = distance[other, one] = min(distance[one, other], long)
    ways = shortest_path(np.where(np.isfinite(distance), distance, 0), directed=False)
    ways = np.where(np.isfinite(ways), ways, np.nanmax(np.where(np.isfinite(ways), ways, np.nan)) + 1.0)
    centre = np.eye(len(base)) - 1 / len(base)
    sizes, axes = np.linalg.eigh(-0.5 * centre @ np.square(ways) @ centre)
    return np.asarray(axes[:, -2:] * np.sqrt(np.maximum(sizes[-2:], 1e-6)), np.float64)


def _onto(shape: Floats, base: Floats, known: list[int]) -> Floats:
    """`shape` turned (never mirrored) and moved so that the known posts lie where they are known to."""
    anchors = known or [0]
    here, there = shape[anchors].mean(axis=0), base[anchors].mean(axis=0)
    if len(anchors) > 1:
        a, b = (shape[anchors] - here), (base[anchors] - there)
        turn = np.arctan2(np.sum(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]), np.sum(a * b))
    else:
        second = next(n for n in range(len(shape)) if n != anchors[0])
        turn = -np.arctan2(*(shape[second] - here)[::-1])
    cos, sin = np.cos(turn), np.sin(turn)
    return np.asarray((shape - here) @ np.array([[cos, sin], [-sin, cos]]) + there, np.float64)


def _solve(found: Sequence[Measurement], start: Floats, held: NDArray[np.bool_]) -> tuple[Floats, float]:
    free, sigmas = ~held, np.array([m.sigma for m in found])
    if not found or not free.any():
        return start, 0.0 if not found else float(np.sum(np.square(_off(found, start) / sigmas)))

    def placed(values: Floats) -> Floats:
        out = start.copy()
        out[free] = values
        return out

    fitted = least_squares(
        lambda values: _off(found, placed(values)) / sigmas,
        start[free],
        jac=lambda values: _slopes(found, placed(values))[:, free.ravel()] / sigmas[:, np.newaxis],
        x_scale=1.0,
        xtol=1e-12,
        ftol=1e-12,
        gtol=1e-12,
        max_nfev=200,
    )
    return placed(fitted.x), float(2 * fitted.cost)


def solve_from(survey: Survey, places: Floats) -> tuple[Floats, float]:
    """The nearest best fit of a survey's measurements from other places (n, 2), and its misfit."""
    return _solve(survey.measurements, np.where(survey.held, survey.at, places), survey.held)


def _off(found: Sequence[Measurement], at: Floats) -> Floats:
    return np.array([m.expected(at) - m.value for m in found])


def _slopes(found: Sequence[Measurement], at: Floats) -> Floats:
    return np.array([m.slope(at).ravel() for m in found]).reshape(len(found), at.size)


def _turned(at: Floats, held: NDArray[np.bool_], known: int) -> Floats:
    """In the chosen sense: second post to the right of the first, the next off their line to its left."""
    if known >= 2:
        return at
    first = int(np.flatnonzero(held.all(axis=1))[0])
    second = next(n for n in range(len(at)) if n != first)
    out = at - at[first]
    if out[second, 0] < 0:
        out[:, 0] *= -1
    off = [y for y in out[:, 1] if abs(y) > 1e-6]
    if off and off[0] < 0:
        out[:, 1] *= -1
    return np.asarray(out + at[first], np.float64)


def _survey(
    names: tuple[str, ...], at: Floats, found: tuple[Measurement, ...], held: NDArray[np.bool_], gauge: str
) -> Survey:
    free, sigmas = ~held.ravel(), np.array([m.sigma for m in found])
    slopes = _slopes(found, at)[:, free]
    result = adjust(slopes, _off(found, at), np.diag(np.square(sigmas)))
    open_ways = unfixed(slopes, sigmas) if len(found) else np.eye(int(free.sum()))
    spare = len(found) - slopes.shape[1] + open_ways.shape[1]
    sigma0 = float(np.sqrt(result.misfit / spare)) if spare > 0 else np.nan
    loose = np.zeros((at.size, open_ways.shape[1]))
    loose[free] = open_ways
    checks = _checks(found, at, held, result)
    return Survey(
        posts=names,
        at=at,
        covariance=_covariance(result.covariance * max(1.0, np.nan_to_num(sigma0)) ** 2, free, loose),
        checks=checks,
        sigma0=sigma0,
        suspects=_suspects(checks),
        gauge=gauge,
        loose=loose,
        measurements=found,
        held=held,
    )


def _covariance(own: Floats, free: NDArray[np.bool_], loose: Floats) -> Floats:
    out = np.zeros((len(free), len(free)))
    out[np.ix_(free, free)] = own
    moving = np.repeat(loose_posts(loose), 2)
    out[moving, :], out[:, moving] = np.nan, np.nan
    return out


def loose_posts(loose: Floats) -> NDArray[np.bool_]:
    """Which posts (n,) take part in any of the directions (2n, k) that are open."""
    return np.asarray(np.any(np.abs(loose) > 1e-4, axis=1).reshape(-1, 2).any(axis=1), np.bool_)


def _checks(
    found: tuple[Measurement, ...], at: Floats, held: NDArray[np.bool_], result: Adjustment
) -> tuple[Check, ...]:
    off, normalised = _off(found, at), result.normalised()
    checks = []
    for n, m in enumerate(found):
        mistake, drop = result.mistake([n])
        if abs(normalised[n]) > BLUNDER:  # too large for the first-order figure: solve again without it
            others, misfit = _solve(found[:n] + found[n + 1 :], at, held)
            mistake, drop = np.array([m.expected(others) - m.value]), result.misfit - misfit
        checks.append(
            Check(
                m.words, m.value, m.value + off[n], off[n], float(result.redundancy[n]),
                float(normalised[n]), float(mistake[0]), drop,
            )
        )  # fmt: skip
    return tuple(checks)


def _suspects(checks: tuple[Check, ...]) -> tuple[int, ...]:
    order = sorted(range(len(checks)), key=lambda n: -checks[n].drop)
    if not order or checks[order[0]].drop <= BLUNDER**2:
        return ()
    least = checks[order[0]].drop - 4.0  # two sigma: what explains the misfit nearly as well
    return tuple(n for n in order if checks[n].drop > max(least, BLUNDER**2))
