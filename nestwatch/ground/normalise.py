"""Local normalisation: what is left of a picture when gain, wetness and shade are taken out.

Each pixel minus the mean of its neighbourhood, over the neighbourhood's spread (box filters). Comparing two
such pictures is the local normalised cross-correlation of Lewis 1995 ("Fast Normalized
Cross-Correlation", Vision Interface), windowed.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]
_SHINE, _SHINE_LEVELS = 1.3, 6.0
_LIT = 80
_SMOOTH = 0.5
"""Grey levels added to the spread of fine texture, so that smooth ground shows none and not its noise."""


def local_normal(picture: NDArray[np.uint8] | Floats, side: int, *, floor: float = 3.0) -> Floats:
    """`picture` locally normalised: float32, same shape (rows, columns).

    `side`: odd side of the neighbourhood in pixels. `floor`: levels added to the spread, so that flat ground
    gives values near 0 and not magnified noise.
    """
    image = np.asarray(picture, np.float32)
    size = (side, side)
    mean = cv2.blur(image, size)
    variance = cv2.sqrBoxFilter(image, -1, size) - mean * mean
    return np.asarray((image - mean) / (np.sqrt(np.maximum(variance, 0.0)) + floor), np.float32)


def fine_texture(
    picture: NDArray[np.uint8] | Floats, blurs: tuple[float, float, float], most: float
) -> Floats:
    """What is finer than a few pixels, at one strength everywhere: float32, same shape, -`most`..`most`.

    `blurs`, in pixels: below the first texture is noise, above the second it is broad, within the third it is
    brought to one strength (divisive normalisation), so that a hard edge counts no more than what lies still.
    """
    noise, broad, around = blurs
    image = np.asarray(picture, np.float32)
    image = cv2.GaussianBlur(image, (0, 0), noise) - cv2.GaussianBlur(image, (0, 0), broad)
    spread = np.sqrt(cv2.GaussianBlur(image * image, (0, 0), around))
    return np.asarray(np.clip(image / (spread + _SMOOTH), -most, most), np.float32)


def light_level(picture: NDArray[np.uint8] | Floats) -> float:
    """How bright the lit part of a whole picture is: half of the ground may lie in shade."""
    return max(1.0, float(np.percentile(picture[::4, ::4], _LIT)))


def lit_ground(pictures: NDArray[np.uint8] | Floats, levels: NDArray[np.float64], side: int) -> Floats:
    """How bright the ground is where light falls on it, per `light_level`: float32 (rows, columns).

    `pictures`: (n, rows, columns) of one light, whole ones or parts; `levels`: (n,) of the whole ones.
    `side`: odd side, in pixels, of a neighbourhood that is mostly ground, which replaces leaves and stones.
    """
    usual = float(np.median(levels))
    even = [picture * (usual / level) for picture, level in zip(pictures, levels, strict=True)]
    bright = np.clip(np.rint(np.percentile(even, 75, axis=0)), 0, 255).astype(np.uint8)
    return np.asarray(cv2.medianBlur(bright, side) / usual, np.float32)


def without_shine(picture: NDArray[np.uint8] | Floats, ground: Floats, level: float) -> Floats:
    """`picture` with what is far brighter than the ground there made like that ground: float32, same shape.

    Leaves and stones that shine in infrared would else set the spread around them, and a dark shell between
    leaves be lost in it. `ground`: from `lit_ground`; `level`: the whole picture's `light_level`.
    """
    image, lit = np.asarray(picture, np.float32), np.float32(level) * ground
    return np.where(image > _SHINE * lit + _SHINE_LEVELS, lit, image)


def local_likeness(
    first: NDArray[np.uint8] | Floats, second: NDArray[np.uint8] | Floats, side: int
) -> Floats:
    """Zero-mean normalised cross-correlation around each pixel: float32, -1..1, 0 where flat.

    `side`: side of the square window in pixels.
    """
    a, b = np.asarray(first, np.float32), np.asarray(second, np.float32)
    # Numbers near zero keep float32 sums of squares exact enough.
    a, b = a - np.float32(a.mean()), b - np.float32(b.mean())
    size = (side, side)
    mean_a, mean_b = cv2.blur(a, size), cv2.blur(b, size)
    cross = cv2.blur(a * b, size) - mean_a * mean_b
    power_a = cv2.sqrBoxFilter(a, -1, size) - mean_a * mean_a
    power_b = cv2.sqrBoxFilter(b, -1, size) - mean_b * mean_b
    spread = np.sqrt(np.maximum(power_a, 0.0) * np.maximum(power_b, 0.0))
    out = np.where(spread > 1e-3, cross / np.maximum(spread, 1e-3), 0.0)
    return np.asarray(np.clip(out, -1.0, 1.0), np.float32)
