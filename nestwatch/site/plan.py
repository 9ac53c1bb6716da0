"""Picture <-> plan: the plane mapping that the marks of a camera fix (no lens correction yet).

A flat pen seen by a camera without distortion maps to its plan by a homography (Hartley & Zisserman,
Multiple View Geometry, 2nd ed., chapter 2 - from memory, standard). It is fitted plan -> picture, because
clicks, not the tape, make most of the error, and those are of the same size all over the picture.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from nestwatch.errors import SiteError
from nestwatch.site.records import Camera, Mark, Point, Post, Site

Floats = NDArray[np.float64]
FEWEST_MARKS = 4
_THIN = 0.02  # points whose spread across is under 2 % of that along lie on a line for our purpose
_HEADINGS = 36


@dataclass(frozen=True, slots=True, eq=False)
class PlanMap:
    """How one camera's picture lies on its pen's plan.

    `matrix`: 3 x 3, plan metres -> picture pixels, homogeneous (x, y, 1). `marks`: (n, 2) pixels they were
    pointed at. `residual_m`: root mean square distance on the plan between posts and their mapped marks,
    corrected for the freedom of the fit; 0.0 with exactly four marks, which tells nothing.
    """

    matrix: Floats
    marks: Floats
    residual_m: float

    def to_plan(self, points: ArrayLike) -> Floats:
        """Picture points (n, 2) `(x, y)` -> plan metres (n, 2); NaN at or above the ground's horizon."""
        inverse = self._inverse()
        mapped = _homogeneous(points) @ inverse.T
        # Ground in front of the camera has the sign that the marks have; the horizon has 0.
        side = np.sign(_homogeneous(self.marks)[0] @ inverse[2])
        depth = np.where(mapped[:, 2] * side > 0, mapped[:, 2], np.nan)
        return np.asarray(mapped[:, :2] / depth[:, np.newaxis], np.float64)

    def to_pixel(self, points: ArrayLike) -> Floats:
        """Plan metres (n, 2) -> picture points (n, 2); NaN for ground behind the camera."""
        mapped = _homogeneous(points) @ self.matrix.T
        side = np.sign(_homogeneous(self.to_plan(self.marks[:1]))[0] @ self.matrix[2])
        depth = np.where(mapped[:, 2] * side > 0, mapped[:, 2], np.nan)
        return np.asarray(mapped[:, :2] / depth[:, np.newaxis], np.float64)

    def metres_per_pixel(self, point: Point) -> float:
        """Metres that one pixel spans at a picture point, along the direction in which it spans most."""
        return float(np.linalg.norm(self._jacobian(point), 2))

    def shell_pixels(self, point: Point, length_m: float) -> float:
        """Length in pixels of a shell of `length_m` lying at a picture point, averaged over its headings."""
        turn = np.arange(_HEADINGS) * (np.pi / _HEADINGS)
        headings = np.stack([np.cos(turn), np.sin(turn)])
        return float(
            length_m * np.linalg.norm(np.linalg.inv(self._jacobian(point)) @ headings, axis=0).mean()
        )

    def within_m(self, point: Point, radius_px: float) -> float:
        """Radius on the plan (metres) of a picture radius at a point, with the marks' own error added."""
        return radius_px * self.metres_per_pixel(point) + self.residual_m

    def _inverse(self) -> Floats:
        return np.asarray(np.linalg.inv(self.matrix), np.float64)

    def _jacobian(self, point: Point) -> Floats:
        """d(plan)/d(pixel), 2 x 2, metres per pixel; NaN at or above the horizon."""
        inverse, plan = self._inverse(), self.to_plan([point])[0]
        depth = inverse[2] @ (*point, 1.0)
        return np.asarray((inverse[:2, :2] - np.outer(plan, inverse[2, :2])) / depth, np.float64)


def plan_map(site: Site, camera: Camera) -> PlanMap | None:
    """The mapping of a camera, None with fewer than four marks or no pen.

    Raises `SiteError` where the marks do not fix a mapping, naming them.
    """
    pen = site.pen_of(camera)
    if pen is None or len(camera.marks) < FEWEST_MARKS:
        return None
    trouble = marks_trouble(camera.marks, pen.posts)
    if trouble:
        raise SiteError(f'{site.path}: camera "{camera.name}", marks: {trouble}.')
    return fit_plan(*paired(camera.marks, pen.posts))


def fit_plan(plan: Floats, pixels: Floats) -> PlanMap:
    """Least squares over all marks: `plan` (n, 2) metres, `pixels` (n, 2), n >= 4 in general position."""
    matrix, _ = cv2.findHomography(plan, pixels, 0)
    found = PlanMap(np.asarray(matrix, np.float64), pixels, 0.0)
    missed = np.square(found.to_plan(pixels) - plan).sum()
    spare = len(plan) - 4  # each mark gives two numbers, the mapping takes eight
    residual = float(np.sqrt(missed / spare)) if spare else 0.0
    return PlanMap(found.matrix, pixels, residual)


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
    depth = _homogeneous(plan) @ np.asarray(matrix, np.float64)[2]
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


def _named(marks: Sequence[Mark], numbers: list[int]) -> str:
    names = [f'"{marks[number].post}"' for number in numbers]
    return f"{', '.join(names[:-1])} and {names[-1]}"


def paired(marks: Sequence[Mark], posts: Sequence[Post]) -> tuple[Floats, Floats]:
    """The marks' posts on the plan (n, 2) in metres, and where they are seen (n, 2) in pixels."""
    at = {post.name: post.at for post in posts}
    plan = np.array([at[mark.post] for mark in marks], np.float64)
    return plan, np.array([mark.pixel for mark in marks], np.float64)


def _homogeneous(points: ArrayLike) -> Floats:
    given = np.asarray(points, np.float64).reshape(-1, 2)
    return np.column_stack([given, np.ones(len(given))])
