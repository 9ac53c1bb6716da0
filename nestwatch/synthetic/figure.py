"""Bodies made of ellipsoids and facets, drawn small and fine into a picture.

A body's parts are given in metres around its base point on the plan; near that point the lens is taken as
straight (a Jacobian), which is exact to under a pixel for bodies up to half a metre.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.synthetic.lens import Lens

Floats = NDArray[np.float64]
Bytes = NDArray[np.uint8]
SHIFT = 4


@dataclass(frozen=True, slots=True)
class Ellipsoids:
    """n ellipsoids: `centres` (n, 3) and `halves` (n, 3, 3), rows the half axes as vectors, metres;
    `tones` (n,) reflectance."""

    centres: Floats
    halves: Floats
    tones: Floats


@dataclass(frozen=True, slots=True)
class Overlay:
    """A small picture to lay over a part of a large one: `keep` (rows, columns) 0..1 of what was there,
    `tone` added to it, at column `x0`, row `y0`."""

    x0: int
    y0: int
    keep: NDArray[np.float32]
    tone: NDArray[np.float32]

    def blend(self, picture: Bytes) -> None:
        rows, columns = self.keep.shape
        part = picture[self.y0 : self.y0 + rows, self.x0 : self.x0 + columns]
        part[...] = part * self.keep + self.tone


class Stamp:
    """A fine canvas over a small part of a picture: `tone` and `cover` (uint8), later blended in."""

    def __init__(self, picture: Bytes, box: tuple[float, float, float, float], *, fine: int) -> None:
        rows, columns = picture.shape
        self.x0, self.y0 = max(int(box[0]) - 2, 0), max(int(box[1]) - 2, 0)
        self.x1, self.y1 = min(int(box[2]) + 3, columns), min(int(box[3]) + 3, rows)
        self.fine = fine
        self.empty = self.x1 <= self.x0 or self.y1 <= self.y0
        size = (0, 0) if self.empty else ((self.y1 - self.y0) * fine, (self.x1 - self.x0) * fine)
        self.tone, self.cover = np.zeros(size, np.uint8), np.zeros(size, np.uint8)
        self.shade = np.zeros(size, np.uint8)

    def points(self, seen: Floats) -> NDArray[np.int32]:
        """Picture pixels (..., 2) as canvas coordinates in 1/16 of a fine pixel."""
        shifted = (seen - (self.x0, self.y0)) * self.fine - 0.5
        return np.round(shifted * (1 << SHIFT)).astype(np.int32)

    def facet(self, corners: NDArray[np.int32], level: float) -> None:
        cv2.fillConvexPoly(self.tone, corners, level, cv2.LINE_8, SHIFT)
        cv2.fillConvexPoly(self.cover, corners, 255, cv2.LINE_8, SHIFT)

    def oval(self, corners: NDArray[np.int32], level: float) -> None:
        self.facet(corners, level)

    def shadow(self, corners: NDArray[np.int32], depth: float) -> None:
        """Darkens the ground, `depth` 0..1."""
        cv2.fillConvexPoly(self.shade, corners, 255 * depth, cv2.LINE_8, SHIFT)

    def finish(self) -> Overlay:
        """The canvas at the picture's own scale."""
        size = (self.x1 - self.x0, self.y1 - self.y0)
        cover, shade = (
            cv2.resize(layer, size, interpolation=cv2.INTER_AREA).astype(np.float32) * np.float32(1 / 255)
            for layer in (self.cover, self.shade)
        )
        tone = cv2.resize(cv2.min(self.tone, self.cover), size, interpolation=cv2.INTER_AREA)
        keep = np.asarray((1 - shade) * (1 - cover), np.float32)
        return Overlay(self.x0, self.y0, keep, np.asarray(tone + np.float32(0.5), np.float32))

    def blend(self, picture: Bytes) -> None:
        """Puts the canvas over the picture."""
        if not self.empty:
            self.finish().blend(picture)


_ROUND = np.stack([np.cos(np.linspace(0, 2 * np.pi, 17)[:-1]), np.sin(np.linspace(0, 2 * np.pi, 17)[:-1])])


def outlines(lens_slope: Floats, base: Floats, parts: Ellipsoids) -> Floats:
    """Outlines (n, 16, 2) in pixels of ellipsoids seen through a Jacobian (2, 3) around pixel `base` (2,).

    The shadow of an ellipsoid under a linear map M is the ellipse with M Mᵀ as its shape; its square root is
    taken by Cholesky's factors.
    """
    half = np.einsum("ij,nkj->nik", lens_slope, parts.halves)
    shape = half @ half.transpose(0, 2, 1)
    a = np.sqrt(np.maximum(shape[:, 0, 0], 1e-9))
    b = shape[:, 0, 1] / a
    c = np.sqrt(np.maximum(shape[:, 1, 1] - b * b, 1e-9))
    centres = parts.centres @ lens_slope.T + base
    x = a[:, None] * _ROUND[0]
    y = b[:, None] * _ROUND[0] + c[:, None] * _ROUND[1]
    return np.stack([x, y], axis=2) + centres[:, None, :]


def spin(heading: float, *, roll: float = 0.0, pitch: float = 0.0) -> Floats:
    """Rotation (3, 3): body (x ahead, y left, z up) to plan axes."""
    c, s = np.cos(heading), np.sin(heading)
    cp, sp, cr, sr = np.cos(pitch), np.sin(pitch), np.cos(roll), np.sin(roll)
    yaw = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]])
    nod = np.array([[cp, 0, -sp], [0, 1.0, 0], [sp, 0, cp]])
    lean = np.array([[1.0, 0, 0], [0, cr, -sr], [0, sr, cr]])
    return np.asarray(yaw @ nod @ lean, np.float64)


def limbs(roots: Floats, feet: Floats, thickness: Floats, tones: Floats) -> Ellipsoids:
    """Ellipsoids (n) that reach from `roots` (n, 3) to `feet` (n, 3), `thickness` (n,) half their width."""
    along = (feet - roots) / 2
    length = np.linalg.norm(along, axis=1, keepdims=True)
    ahead = along / np.maximum(length, 1e-9)
    x, y, z = ahead.T
    flat = np.maximum(np.hypot(x, y), 1e-9)
    side = np.stack([y / flat, -x / flat, np.zeros_like(x)], axis=1)
    up = np.stack([-x * z / flat, -y * z / flat, flat], axis=1)
    wide = thickness[:, None]
    halves = np.stack([ahead * (length + wide), side * wide, up * wide], axis=1)
    return Ellipsoids((roots + feet) / 2, halves, tones)


def bounds(*outlines_seen: Floats) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of everything seen."""
    every = np.concatenate([seen.reshape(-1, 2) for seen in outlines_seen])
    (x0, y0), (x1, y1) = every.min(axis=0), every.max(axis=0)
    return float(x0), float(y0), float(x1), float(y1)


def fineness(lens: Lens) -> int:
    """How many times finer than the picture bodies are drawn."""
    return 4 if lens.width <= 800 else 2
