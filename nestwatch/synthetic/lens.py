"""Where a place in the pen shows in a camera's picture, and back.

Plan coordinates are metres: x to the right along the pen's south edge, y across it, z up. Pixels are
`(x, y)` with (0, 0) the outer corner of the first pixel, whose centre is (0.5, 0.5).
A pinhole with radial distortion r_d = r (1 + k1 r² + k2 r⁴), the model of OpenCV's camera calibration.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Lens:
    """One camera's geometry. `turn`: (3, 3), rows are right, down, ahead of the camera in plan axes.
    `eye`: (3,) metres. `focal_px` at the picture's centre."""

    width: int
    height: int
    focal_px: float
    k1: float
    k2: float
    turn: Floats
    eye: Floats

    def project(self, points: ArrayLike) -> Floats:
        """Pixels (n, 2) of plan points (n, 3). Points behind the camera give NaN."""
        x, y, z = self.turn @ (np.asarray(points, float).reshape(-1, 3) - self.eye).T
        with np.errstate(divide="ignore", invalid="ignore"):
            u, v = np.where(z > 1e-6, x / z, np.nan), np.where(z > 1e-6, y / z, np.nan)
        r2 = u * u + v * v
        spread = 1 + self.k1 * r2 + self.k2 * r2 * r2
        centre = np.array([self.width / 2, self.height / 2])
        return np.asarray(np.stack([u * spread, v * spread], axis=1) * self.focal_px + centre, np.float64)

    def rays(self, pixels: ArrayLike) -> Floats:
        """Directions (n, 3) in plan axes, unit length, of pixels (n, 2)."""
        centre = np.array([self.width / 2, self.height / 2])
        flat = (np.asarray(pixels, float).reshape(-1, 2) - centre) / self.focal_px
        bent = np.hypot(flat[:, 0], flat[:, 1])
        scale = np.where(bent > 0, self._straighten(bent) / np.maximum(bent, 1e-12), 1.0)
        ahead = np.column_stack([flat * scale[:, None], np.ones(len(flat))])
        ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
        return np.asarray(ahead @ self.turn, dtype=np.float64)

    def ground(self, pixels: ArrayLike, *, height: float = 0.0) -> Floats:
        """Plan points (n, 2), metres, where pixels (n, 2) meet z = `height`; NaN above the horizon."""
        rays = self.rays(pixels)
        with np.errstate(divide="ignore"):
            far = (height - self.eye[2]) / rays[:, 2]
        far = np.where((far > 0) & np.isfinite(far), far, np.nan)
        return self.eye[:2] + rays[:, :2] * far[:, None]

    def near(self, point: ArrayLike) -> Floats:
        """Jacobian (2, 3), pixels per metre, of the projection at a plan point (3,)."""
        base = np.asarray(point, float)
        step = 0.01
        both = np.concatenate([base + step * np.eye(3), base - step * np.eye(3)])
        seen = self.project(both)
        return np.asarray((seen[:3] - seen[3:]).T / (2 * step), dtype=np.float64)

    def _straighten(self, bent: Floats) -> Floats:
        """Undistorted radius of distorted radius, by Newton's method from the distorted one."""
        r = bent.copy()
        for _ in range(12):
            value = r * (1 + self.k1 * r**2 + self.k2 * r**4) - bent
            r -= value / (1 + 3 * self.k1 * r**2 + 5 * self.k2 * r**4)
        return r


def make_lens(
    size: tuple[int, int],
    *,
    eye: tuple[float, float, float],
    yaw_deg: float,
    tilt_deg: float,
    roll_deg: float = 0.0,
    hfov_deg: float = 82.0,
    k1: float = -0.18,
) -> Lens:
    """A camera at `eye` (metres) that looks along `yaw_deg` (0 = +x, 90 = +y), `tilt_deg` below the horizon.

    `hfov_deg` is the true angle between the picture's left and right edge, distortion included.
    """
    yaw, tilt, roll = np.deg2rad([yaw_deg, tilt_deg, roll_deg])
    ahead = np.array([np.cos(yaw) * np.cos(tilt), np.sin(yaw) * np.cos(tilt), -np.sin(tilt)])
    right = np.array([np.sin(yaw), -np.cos(yaw), 0.0])
    down = np.cross(ahead, right)
    turned = [np.cos(roll) * right + np.sin(roll) * down, np.cos(roll) * down - np.sin(roll) * right, ahead]
    k2 = 0.75 * k1 * k1
    edge = float(np.tan(np.deg2rad(hfov_deg / 2)))
    focal = (size[0] / 2) / (edge * (1 + k1 * edge**2 + k2 * edge**4))
    return Lens(size[0], size[1], focal, k1, k2, np.array(turned), np.array(eye, float))
