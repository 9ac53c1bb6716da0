"""Where the camera stands, from the homography of the ground: what a body's height does to its place.

Square pixels and a principal point in the picture's middle are assumed; then the two first columns of the
homography must be at right angles and of one length once the focal length is right (Zhang 2000, A flexible
new technique for camera calibration, IEEE TPAMI 22(11); from memory). The third is the position.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nestwatch.site.sighting import Sighting

Floats = NDArray[np.float64]
Eye = tuple[float, float, float]

_SHARPEST, _WIDEST = 8.0, 0.3  # focal length in half diagonals that a fixed camera may have


def camera_eye(sighting: Sighting) -> Eye | None:
    """(x, y, z) metres of the camera over the plan; z negative where the plan is its own mirror image.

    None where the marks do not tell it: seen straight from above any height gives the same picture.
    """
    unit, (x, y) = sighting.lens.unit_px, sighting.lens.centre
    ground = np.array([[1 / unit, 0, -x / unit], [0, 1 / unit, -y / unit], [0, 0, 1]]) @ sighting.matrix()
    focal = _focal(ground)
    if focal is None:
        return None
    return _position(np.diag([1 / focal, 1 / focal, 1]) @ ground, sighting.middle)


def _focal(ground: Floats) -> float | None:
    """Focal length in half diagonals from both conditions, least squares."""
    one, two = ground[:, 0], ground[:, 1]
    across = np.array([one[:2] @ two[:2], (one[:2] @ one[:2] - two[:2] @ two[:2]) / 2])
    deep = np.array([one[2] * two[2], (one[2] ** 2 - two[2] ** 2) / 2])
    share = -float(across @ deep) / max(float(across @ across), 1e-300)
    if share <= 0:
        return None
    focal = float(1 / np.sqrt(share))
    return focal if _WIDEST <= focal <= _SHARPEST else None


def _position(columns: Floats, middle: Floats) -> Eye:
    size = np.linalg.norm(columns[:, :2], axis=0).mean()
    right, ahead, offset = (columns / size).T
    turn, _, back = np.linalg.svd(np.column_stack([right, ahead, np.cross(right, ahead)]))
    rotation = turn @ np.diag([1, 1, np.linalg.det(turn @ back)]) @ back
    if (rotation @ np.append(middle, 0.0) + offset)[2] < 0:  # the ground lies ahead of the camera
        rotation, offset = rotation * [-1, -1, 1], -offset
    x, y, z = -rotation.T @ offset
    return float(x), float(y), float(z)


def below(place: ArrayLike, eye: Eye, height_m: float) -> Floats:
    """Where on the ground a thing of `height_m` stands, (2,), whose top is seen as if lying at `place`.

    The line from the eye to `place` passes over the true spot at that height (similar triangles).
    """
    seen = np.asarray(place, np.float64)
    return np.asarray(seen - (seen - eye[:2]) * (height_m / eye[2]), np.float64)
