"""One spot looked at closely: the animal's outline, and whether the ground differs afterwards.

All places are (row, column) in the window, in skim pixels. Pictures are medians of bin medians cut out
around the spot, brought to one gain by a straight-line fit over the rim.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.normalise import local_normal
from nestwatch.ground.records import Bins, Floats

_REACH = 2.5
_SIDE_S = 40 * 60.0
_GUARD_S = 90.0
_SAMPLES = 40
MIN_SIDE_BINS = 4
_SHELL_EDGE = 0.42
_NARROW = 0.35
_SMEAR = 1.2
"""How much longer the outline of an hour's median is than the shell: she rocks, shuffles and turns her head.
Median of 31 stays of invented building nights, a tenth below 1.04 and a tenth above 1.38."""


@dataclass(frozen=True, slots=True)
class Cutout:
    """Mean pictures around a spot, float32 (h, w) each, None where that side was not seen in the same light.

    `top`, `left`: window place of the first pixel. `before_bins`, `after_bins`: bin numbers averaged.
    """

    top: int
    left: int
    before: Floats | None
    inside: Floats
    after: Floats | None
    before_bins: NDArray[np.int64]
    after_bins: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Body:
    """The animal's outline. `length`: of the shell alone, skim pixels; `elongation`: long over short axis of
    the whole outline, both by the ellipse with the same moments.

    `angle`: radians of the long axis, measured from +column towards +row; which end is the head is open.
    `contrast`: mean difference from the ground in levels; `noise`: that of the rim, for comparison.
    """

    row: float
    column: float
    length: float
    elongation: float
    angle: float
    contrast: float
    noise: float


@dataclass(frozen=True, slots=True)
class Change:
    """How the ground differs after the stay. `amount`: unlikeness (0..1) at the spot; `around`: its 90th
    percentile on the rim; `row`, `column`: its centre; `area`: skim pixels² above half the peak."""

    amount: float
    around: float
    row: float
    column: float
    area: float


def cut_out(bins: Bins, row: float, column: float, first: int, last: int) -> Cutout:
    """Pictures around (row, column) before, during and after bins [first, last)."""
    reach = round(_REACH * bins.grid.shell_px)
    top, left = max(0, round(row) - reach), max(0, round(column) - reach)
    bottom, right = min(bins.grid.rows, round(row) + reach), min(bins.grid.columns, round(column) + reach)
    part = bins.median[:, top:bottom, left:right]
    before, after = sides_of(bins, first, last)
    inside = _mean(part, np.arange(first, last))
    pictures = [_mean(part, side) if len(side) >= MIN_SIDE_BINS else None for side in (before, after)]
    return Cutout(top, left, pictures[0], inside, pictures[1], before, after)


def sides_of(bins: Bins, first: int, last: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Bins before and after bins [first, last), each in the light of its own end, a little apart."""
    start, end = bins.times[first] - _GUARD_S, bins.times[last - 1] + bins.step_s + _GUARD_S
    before = _bins_between(bins, first, start - _SIDE_S, start)
    return before, _bins_between(bins, last - 1, end, end + _SIDE_S)


def _bins_between(bins: Bins, like: int, start: float, end: float) -> NDArray[np.int64]:
    """Bins in [start, end) seen in the same light as bin `like`."""
    inside = (bins.times >= start) & (bins.times < end) & (bins.spell == bins.spell[like])
    return np.flatnonzero(inside)


def _mean(part: NDArray[np.uint8], members: NDArray[np.int64]) -> Floats:
    chosen = members[:: max(1, math.ceil(len(members) / _SAMPLES))]
    return np.asarray(np.median(part[chosen], axis=0), np.float32)


def find_body(cutout: Cutout, bins: Bins, row: float, column: float) -> Body | None:
    """The outline of what stayed at (row, column); None when nothing stands out from the ground."""
    grounds = [g for g in (cutout.before, cutout.after) if g is not None]
    if not grounds:
        return None
    shell = bins.grid.shell_px
    spot = (row - cutout.top, column - cutout.left)
    far = distance(cutout.inside.shape, spot)
    rim = far > 1.5 * shell
    differences = [np.abs(cutout.inside - _matched(ground, cutout.inside, rim)) for ground in grounds]
    difference = cv2.GaussianBlur(np.minimum.reduce(differences), (0, 0), 1.0)
    noise = float(np.percentile(difference[rim], 80)) if rim.any() else 1.0
    near = np.where(far <= 1.3 * shell, difference, 0.0)
    peak = float(np.percentile(near[far <= 0.6 * shell], 90))
    threshold = max(0.4 * peak, 1.5 * noise, 0.8)
    if peak <= threshold:
        return None
    return _outline(near, near > threshold, spot, cutout, noise, shell)


def _outline(
    near: Floats,
    mask: NDArray[np.bool_],
    spot: tuple[float, float],
    cutout: Cutout,
    noise: float,
    shell_px: float,
) -> Body | None:
    filled = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
    count, labels, stats, centres = cv2.connectedComponentsWithStats(filled, connectivity=8)
    if count < 2:
        return None
    away = np.hypot(centres[1:, 1] - spot[0], centres[1:, 0] - spot[1])
    best = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA] / (4.0 + away)))
    part = labels == best
    row, column, angle, long, short = _ellipse(part)
    length = _ellipse(_shell(part & (near > _SHELL_EDGE * near[part].max()), shell_px))[3] / _SMEAR
    centre = (row + cutout.top, column + cutout.left)
    return Body(*centre, length, long / max(short, 1.0), angle, float(near[part].mean()), noise)


def _shell(mask: NDArray[np.bool_], shell_px: float) -> NDArray[np.bool_]:
    """`mask` without what is narrower than about a third of a shell: head, limbs, thrown soil."""
    side = max(3, round(_NARROW * shell_px) | 1)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    opened = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, disc) > 0
    return opened if opened.any() else mask


def _ellipse(part: NDArray[np.bool_]) -> tuple[float, float, float, float, float]:
    """Row, column, angle, and both axes of the ellipse with the same moments as `part`."""
    moments = cv2.moments(part.astype(np.uint8), binaryImage=True)
    area = moments["m00"]
    mu20, mu02, mu11 = (moments[k] / area for k in ("mu20", "mu02", "mu11"))
    angle = 0.5 * math.atan2(2 * mu11, mu20 - mu02)
    root = math.sqrt(4 * mu11**2 + (mu20 - mu02) ** 2)
    long, short = (4 * math.sqrt(max(0.0, (mu20 + mu02 + sign * root) / 2)) for sign in (1, -1))
    return moments["m01"] / area, moments["m10"] / area, angle, long, short


def distance(shape: tuple[int, ...], spot: tuple[float, float]) -> Floats:
    """(rows, columns) of a picture of that shape: pixels from `spot` (row, column)."""
    rows, columns = np.ogrid[: shape[0], : shape[1]]
    return np.asarray(np.hypot(rows - spot[0], columns - spot[1]), np.float32)


def _matched(picture: Floats, like: Floats, where: NDArray[np.bool_]) -> Floats:
    """`picture` with gain and offset fitted to `like` over `where`."""
    if where.sum() < 20:
        return picture
    gain = np.polyfit(picture[where], like[where], 1)[0]
    # A near-flat rim fixes no gain; half to double is all a camera does within minutes.
    gain = float(np.clip(gain, 0.5, 2.0))
    return np.asarray(gain * picture + np.median(like[where] - gain * picture[where]), np.float32)


def ground_change(cutout: Cutout, bins: Bins, row: float, column: float) -> Change | None:
    """Whether the ground near (row, column) differs after the stay; None when a side was not seen."""
    if cutout.before is None or cutout.after is None:
        return None
    shell = bins.grid.shell_px
    side = max(5, round(0.5 * shell)) | 1
    first, second = (
        local_normal(p, max(9, round(shell)) | 1, floor=2.0) for p in (cutout.before, cutout.after)
    )
    power = cv2.blur(first**2, (side, side)) + cv2.blur(second**2, (side, side))
    unlike = cv2.blur((first - second) ** 2, (side, side)) / (power + 0.25)
    far = distance(unlike.shape, (row - cutout.top, column - cutout.left))
    near, rim = far <= 1.1 * shell, far > 1.6 * shell
    around = float(np.percentile(unlike[rim], 90)) if rim.any() else 0.0
    peak = float(np.percentile(unlike[near], 97))
    strong = near & (unlike > max(0.5 * peak, around))
    if not strong.any():
        strong = near & (unlike >= peak)
    weight = np.where(strong, unlike, 0.0)
    rows, columns = np.indices(unlike.shape)
    total = float(weight.sum()) or 1.0
    centre = ((weight * rows).sum() / total + cutout.top, (weight * columns).sum() / total + cutout.left)
    return Change(peak, around, float(centre[0]), float(centre[1]), float(strong.sum()))


def stands_out(
    bins: Bins, place: tuple[float, float], inside: tuple[int, int], outside: tuple[int, int]
) -> float:
    """Which of two looks of a spot has an object in it: > 0 for bins `inside`, < 0 for `outside`.

    Log ratio of edge strength along the outline of what differs: a thing that lies there ends at its outline,
    bare ground runs on through it (the edge rule for abandoned against removed objects, Connell et al.
    2004, doi 10.1109/ICME.2004.1394458). NaN where a side has no bins or nothing differs.
    """
    reach = round(_REACH * bins.grid.shell_px)
    row, column = (round(v) for v in place)
    part = bins.median[:, max(0, row - reach) : row + reach, max(0, column - reach) : column + reach]
    members = [np.arange(max(0, a), min(len(bins.times), b)) for a, b in (inside, outside)]
    if any(len(m) < 2 for m in members):
        return float("nan")
    first, second = (_mean(part, m) for m in members)
    spot = (row - max(0, row - reach), column - max(0, column - reach))
    far = distance(first.shape, spot)
    second = _matched(second, first, far > 1.5 * bins.grid.shell_px)
    difference = np.where(
        far <= 1.3 * bins.grid.shell_px, cv2.GaussianBlur(np.abs(first - second), (0, 0), 1), 0
    )
    mask = (difference > 0.4 * float(difference.max())).astype(np.uint8)
    outline = cv2.morphologyEx(mask, cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8)) > 0
    if not outline.any():
        return float("nan")
    strength = [float(_slope(picture)[outline].mean()) for picture in (first, second)]
    return math.log((strength[0] + 0.1) / (strength[1] + 0.1))


def _slope(picture: Floats) -> Floats:
    smooth = cv2.GaussianBlur(picture, (0, 0), 0.8)
    return np.asarray(np.hypot(cv2.Sobel(smooth, -1, 1, 0), cv2.Sobel(smooth, -1, 0, 1)), np.float32)
