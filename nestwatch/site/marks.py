"""Marks that cannot be right: at one place, on one line, swapped, far off. Each is named."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtri

from nestwatch.site.lens import Lens
from nestwatch.site.records import Mark, Post
from nestwatch.site.sighting import Sighting, fit_sighting

Floats = NDArray[np.float64]

FEWEST_MARKS = 4
_NAMING = 6  # with fewer every mark can be left out with a good fit of the rest
_THIN = 0.02  # points whose spread across is under 2 % of that along lie on a line for our purpose
_CHANCE = 0.001  # sound marks look wrong so often


def paired(marks: Sequence[Mark], posts: Sequence[Post]) -> tuple[Floats, Floats]:
    """The marks' posts on the plan (n, 2) in metres, and where they are seen (n, 2) in pixels."""
    at = {post.name: post.at for post in posts}
    plan = np.array([at[mark.post] for mark in marks], np.float64)
    return plan, np.array([mark.pixel for mark in marks], np.float64)


def paired_covariance(marks: Sequence[Mark], posts: Sequence[Post], covariance: Floats) -> Floats:
    """(2m, 2m) of the marks' posts, in the order of the marks, out of the pen's (2n, 2n)."""
    names = [post.name for post in posts]
    rows = [2 * names.index(mark.post) + axis for mark in marks for axis in (0, 1)]
    return np.asarray(covariance[np.ix_(rows, rows)], np.float64)


def marks_trouble(marks: Sequence[Mark], posts: Sequence[Post]) -> str | None:
    """Why at least four marks do not fix a mapping and what to do, None where they do."""
    plan, pixels = paired(marks, posts)
    for points, where in ((plan, "on the plan"), (pixels, "in the picture")):
        same = _same(points)
        if same:
            return f"{_named(marks, same)} lie at the same place {where}; correct one of them"
        line = _on_a_line(points)
        if line:
            return (
                f"{_named(marks, line)} lie on one line {where}, which does not fix where things are; "
                "add a mark well off that line"
            )
    return _twisted(marks, plan, pixels)


def _twisted(marks: Sequence[Mark], plan: Floats, pixels: Floats) -> str | None:
    """Swapped marks put part of the ground behind the camera."""
    matrix, _ = cv2.findHomography(plan, pixels, 0)
    names = _named(marks, list(range(len(marks))))
    if matrix is None or abs(np.linalg.det(matrix)) < 1e-12:
        return f"{names} do not fit together; check that each post is pointed at where it stands"
    depth = np.column_stack([plan, np.ones(len(plan))]) @ np.asarray(matrix, np.float64)[2]
    if np.any(depth * depth[0] <= 0):
        return f"{names} contradict each other; two posts are probably swapped"
    return None


def _same(points: Floats) -> list[int]:
    """The first two positions that hold the same point, [] where all differ."""
    gaps = np.linalg.norm(points[:, np.newaxis] - points, axis=2)
    np.fill_diagonal(gaps, np.inf)
    first, second = np.unravel_index(np.argmin(gaps), gaps.shape)
    return [int(first), int(second)] if gaps[first, second] <= 1e-9 else []


def _on_a_line(points: Floats) -> list[int]:
    """Positions of all points, or of all but one, where those lie on a line: then no mapping is fixed."""
    everyone = range(len(points))
    for left_out in (None, *everyone):
        rest = [number for number in everyone if number != left_out]
        spread = np.linalg.svd(points[rest] - points[rest].mean(axis=0), compute_uv=False)
        if spread[1] < _THIN * spread[0]:
            return rest
    return []


def _named(marks: Sequence[Mark], numbers: Sequence[int]) -> str:
    names = [f'"{marks[number].post}"' for number in numbers]
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else names[0]


def marks_doubt(marks: Sequence[Mark], posts: Sequence[Post], lens: Lens, covariance: Floats) -> str | None:
    """Which mark contradicts the others (or which two are swapped) and what to do, None where all agree.

    `covariance`: (2n, 2n) of the posts of the pen. Five marks can contradict each other, six or more also
    tell which one is wrong; four always agree.
    """
    plan, pixels = paired(marks, posts)
    spread = paired_covariance(marks, posts, covariance)
    found = fit_sighting(plan, pixels, lens, posts=spread)
    if _agree(found, len(marks)):
        return None
    if len(marks) < _NAMING:
        return f"{_named(marks, range(len(marks)))} contradict each other; point at them again, or add marks"
    swapped = _swap(plan, pixels, lens, spread)
    if swapped:
        return f"{_named(marks, swapped)} are probably swapped; exchange their posts"
    return _odd_ones(marks, plan, pixels, lens, spread)


def _agree(found: Sighting | None, marks: int) -> bool:
    spare = max(2 * marks - 8, 1)
    return found is not None and found.adjustment.misfit <= float(chdtri(spare, _CHANCE))


def _swap(plan: Floats, pixels: Floats, lens: Lens, spread: Floats) -> tuple[int, int] | None:
    """The one pair that makes all agree once exchanged."""
    best, least = None, np.inf
    for pair in combinations(range(len(plan)), 2):
        order = list(range(len(plan)))
        order[pair[0]], order[pair[1]] = pair[1], pair[0]
        found = fit_sighting(plan, pixels[order], lens, posts=spread)
        if found is not None and _agree(found, len(plan)) and found.adjustment.misfit < least:
            best, least = pair, found.adjustment.misfit
    return best


def _odd_ones(marks: Sequence[Mark], plan: Floats, pixels: Floats, lens: Lens, spread: Floats) -> str:
    """The mark without which the others agree best, and those without which they agree nearly as well."""
    without = [_without(number, plan, pixels, lens, spread) for number in range(len(marks))]
    misfits = [found.adjustment.misfit if found else np.inf for found in without]
    best = int(np.argmin(misfits))
    others = without[best]
    if others is None or not _agree(others, len(marks) - 1):
        return "more than one mark is wrong; point at all of them again"
    alike = [number for number in range(len(marks)) if misfits[number] <= misfits[best] + 4.0]
    if len(alike) > 1:
        return f"one of {_named(marks, alike)} is wrong; point at them again"
    x, y = others.to_picture(plan[[best]])[0]
    where = f"by the others it should be near ({x:.0f}, {y:.0f})"
    name = _named(marks, [best])
    return f"{name} does not fit the other marks: {where}; point at it again, or measure its post"


def _without(number: int, plan: Floats, pixels: Floats, lens: Lens, spread: Floats) -> Sighting | None:
    rest = [n for n in range(len(plan)) if n != number]
    rows = [2 * n + axis for n in rest for axis in (0, 1)]
    return fit_sighting(plan[rest], pixels[rest], lens, posts=spread[np.ix_(rows, rows)])
