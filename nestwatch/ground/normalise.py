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
