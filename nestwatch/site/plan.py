"""Picture <-> plan: where on the pen's plan a place in a camera's picture lies, and how sure that is.

The mapping is fitted to the camera's marks by `sighting`; here it is decided whether the lens is corrected
(only when leaving marks out shows that it helps), and every place gets its 90 % radius (docs/plan.md).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import chdtri

from nestwatch.errors import SiteError
from nestwatch.site.lens import BEND_RANGE, BEND_SIGMA, Lens, lens_of
from nestwatch.site.marks import FEWEST_MARKS, marks_trouble, paired, paired_covariance
from nestwatch.site.pens import post_covariance
from nestwatch.site.pose import Eye, below, camera_eye
from nestwatch.site.radius import ROUND, radius_90
from nestwatch.site.records import Camera, Point, Site
from nestwatch.site.sighting import CLICK_PX, UNKNOWNS, Sighting, fit_sighting

Floats = NDArray[np.float64]

_FOR_A_LENS = 6
_BEYOND_DOUBT = 2.0  # standard deviations; with six marks leaving one out is too noisy a judge alone
_HEADINGS = 36
_SURPRISE = 0.01  # a misfit that sound marks reach less often than this widens the radii


@dataclass(frozen=True, slots=True, eq=False)
class PlanMap:
    """How one camera's picture lies on its pen's plan.

    `matrix`: 3 x 3, plan metres -> pixels as a lens without distortion shows them, homogeneous (x, y, 1).
    `marks`: (n, 2) pixels they were pointed at. `residual_m`: root mean square distance on the plan between
    posts and their mapped marks, corrected for the freedom of the fit; 0.0 with exactly four marks, which
    tells nothing. `sighting`: the fit. `eye`: (x, y, z) metres of the camera, None where the marks do not
    tell. `left_out_px`: root mean square of what each mark is off when the others alone predict it, without
    and with the lens; NaN where nothing can be left out. `notes`: sentences on what is doubtful. `scale_fit`:
    the uncorrected fit from clicks alone, for `shell_pixels` only.
    """

    matrix: Floats
    marks: Floats
    residual_m: float
    sighting: Sighting
    eye: Eye | None
    left_out_px: tuple[float, float]
    notes: tuple[str, ...]
    scale_fit: Sighting

    @property
    def bend(self) -> float:
        """The lens parameter in use, 0.0 where the lens is not corrected."""
        return float(self.sighting.unknowns[8])

    def to_plan(self, points: ArrayLike) -> Floats:
        """Picture points (n, 2) `(x, y)` -> plan metres (n, 2); NaN at or above the ground's horizon."""
        return self.sighting.to_plan(_points(points))

    def to_pixel(self, points: ArrayLike) -> Floats:
        """Plan metres (n, 2) -> picture points (n, 2); NaN for ground behind the camera."""
        return self.sighting.to_picture(_points(points))

    def metres_per_pixel(self, point: Point) -> float:
        """Metres that one pixel spans at a picture point, along the direction in which it spans most.

        NaN at or above the horizon, as are `shell_pixels` and `within_m`.
        """
        jacobian = self._jacobian(point)
        return float(np.linalg.norm(jacobian, 2)) if np.isfinite(jacobian).all() else float("nan")

    def shell_pixels(self, point: Point, length_m: float) -> float:
        """Length in pixels of a shell of `length_m` lying at a picture point, averaged over its headings.

        A scale for looking, some per cent off where the lens is bent (docs/plan.md says why it is kept so).
        """
        turn = np.arange(_HEADINGS) * (np.pi / _HEADINGS)
        headings = np.stack([np.cos(turn), np.sin(turn)])
        jacobian = self.scale_fit.by_pixel(_points([point]))[0]
        return float(length_m * np.linalg.norm(np.linalg.inv(jacobian) @ headings, axis=0).mean())

    def within_m(self, point: Point, radius_px: float, *, height_sigma_m: float = 0.0) -> float:
        """Radius on the plan (metres) that holds the true place in 90 % of cases.

        `radius_px` holds what was looked for in the picture in 90 % of cases (heading, choice of pixel);
        to it come the marks' clicks, the tape, the lens and, where the height of what was pointed at is
        known to `height_sigma_m` only, the camera's slanting view. Without an `eye` the last adds nothing.
        """
        return float(radius_90(self.spread([point], radius_px, height_sigma_m=height_sigma_m))[0])

    def spread(self, points: ArrayLike, radius_px: float, *, height_sigma_m: float = 0.0) -> Floats:
        """(n, 2, 2) covariance on the plan, square metres, of picture points (n, 2); see `within_m`."""
        pixels = _points(points)
        chosen, fitted = self.sighting.by_pixel(pixels), self.sighting.by_unknowns(pixels)
        out = (radius_px / ROUND) ** 2 * chosen @ chosen.transpose(0, 2, 1)
        out = out + fitted @ self.sighting.covariance @ fitted.transpose(0, 2, 1)
        if self.eye is not None and height_sigma_m > 0:
            lean = (self.to_plan(pixels) - self.eye[:2]) * (height_sigma_m / self.eye[2])
            out = out + lean[:, :, np.newaxis] * lean[:, np.newaxis, :]
        return np.asarray(out, np.float64)

    def below(self, point: Point, height_m: float) -> Point:
        """Plan place under something `height_m` above the ground that is seen at a picture point.

        The place seen, uncorrected, where the marks do not tell where the camera stands.
        """
        seen = self.to_plan([point])[0]
        x, y = seen if self.eye is None else below(seen, self.eye, height_m)
        return float(x), float(y)

    def _jacobian(self, point: Point) -> Floats:
        return np.asarray(self.sighting.by_pixel(_points([point]))[0], np.float64)


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
    spread = paired_covariance(camera.marks, pen.posts, post_covariance(pen))
    return fit_plan(*paired(camera.marks, pen.posts), lens=lens_of(camera.picture), posts=spread)


def fit_plan(
    plan: Floats,
    pixels: Floats,
    *,
    lens: Lens | None = None,
    posts: Floats | None = None,
    click_px: float = CLICK_PX,
) -> PlanMap:
    """Least squares over all marks: `plan` (n, 2) metres, `pixels` (n, 2), n >= 4 in general position.

    `lens`: centre and size of the picture; without one the lens is taken to be free of distortion, no doubt
    of that is in the radii, and where the camera stands is not told. `posts`: (2n, 2n) covariance of `plan`,
    None for exact posts. The lens is corrected with six marks or more that tell it at least twice as well as
    was believed before (`BEND_SIGMA`), and only if it is bent beyond doubt or marks left out are then
    predicted better.
    """
    plain = _fitted(plan, pixels, lens or _around(pixels), click_px, posts, True)
    if lens is None:
        return _plan_map(plain, plan, pixels, (float("nan"), float("nan")), None)
    full = _fitted(plan, pixels, lens, click_px, posts, False)
    left_out = (_left_out(plain, len(plan)), _left_out(full, len(plan)))
    if len(plan) >= _FOR_A_LENS and _helps(full, left_out):
        return _plan_map(full, plan, pixels, left_out, camera_eye(full))
    return _plan_map(_doubtful(plain, full), plan, pixels, left_out, camera_eye(plain))


def _fitted(
    plan: Floats, pixels: Floats, lens: Lens, click_px: float, posts: Floats | None, straight_lens: bool
) -> Sighting:
    found = fit_sighting(plan, pixels, lens, click_px=click_px, posts=posts, straight_lens=straight_lens)
    if found is None:
        raise ValueError("these marks fix no mapping; see marks_trouble")
    return found


def _around(pixels: Floats) -> Lens:
    """Picture coordinates where no picture is given; any will do for a lens without distortion."""
    x, y = pixels.mean(axis=0)
    return Lens((float(x), float(y)), float(np.abs(pixels - [x, y]).max()))


def _helps(full: Sighting, left_out: tuple[float, float]) -> bool:
    """Whether the marks tell the lens, and it is bent beyond doubt or predicts left-out marks better."""
    bend, sigma = abs(full.unknowns[8]), float(np.sqrt(full.covariance[8, 8]))
    return bool(sigma <= BEND_SIGMA / 2 and (bend > _BEYOND_DOUBT * sigma or left_out[1] < left_out[0]))


def _doubtful(plain: Sighting, full: Sighting) -> Sighting:
    """The uncorrected fit with what the lens may do to it.

    A bend b moves the homography that fits best by -b g, with g its regression on the bend in the full fit;
    what b may be is the larger of what was found and its doubt. The plain fit's own spread comes to it.
    """
    move = full.covariance[:, 8] / full.covariance[8, 8]
    square = max(full.unknowns[8] ** 2, full.covariance[8, 8])
    return replace(plain, covariance=plain.covariance + square * np.outer(move, move))


def _left_out(found: Sighting, marks: int) -> float:
    """Root mean square of how far off each mark is, in pixels, when the others alone predict it."""
    off = [found.adjustment.mistake([2 * n, 2 * n + 1])[0] for n in range(marks)]
    return float(np.sqrt(np.mean(np.square(off).sum(axis=1))))


def _plan_map(
    found: Sighting, plan: Floats, pixels: Floats, left_out_px: tuple[float, float], eye: Eye | None
) -> PlanMap:
    marks = len(plan)
    spare = 2 * marks - (UNKNOWNS if found.unknowns[8] else UNKNOWNS - 1)
    misfit = found.adjustment.misfit
    if spare > 0 and misfit > float(chdtri(spare, _SURPRISE)):
        found = replace(found, covariance=found.covariance * misfit / spare)
    missed = np.square(found.to_plan(pixels) - plan).sum()
    return PlanMap(
        matrix=found.matrix(),
        marks=pixels,
        residual_m=float(np.sqrt(2 * missed / spare)) if spare > 0 else 0.0,
        sighting=found,
        eye=eye,
        left_out_px=left_out_px,
        notes=_notes(found, eye),
        scale_fit=_fitted(plan, pixels, found.lens, CLICK_PX, None, True),
    )


def _notes(found: Sighting, eye: Eye | None) -> tuple[str, ...]:
    notes = []
    if found.unknowns[8] in BEND_RANGE:
        notes.append("the marks ask for a stranger lens than any camera has; check them, or add marks")
    if eye is not None and eye[2] < 0:
        notes.append(
            "the marks show the plan as its mirror image, seen from below; list or place the posts "
            "counter-clockwise, as seen from above"
        )
    return tuple(notes)


def _points(points: ArrayLike) -> Floats:
    return np.asarray(points, np.float64).reshape(-1, 2)
