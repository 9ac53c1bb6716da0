"""How far the camera has moved: each half minute's picture against a reference, to 0.25 px.

ECC (Evangelidis & Psarakis 2008, doi 10.1109/TPAMI.2008.113) as implemented by OpenCV, on pictures
high-passed and brought to the same contrast everywhere, so that neither slow light nor the hard edges of a
shadow pull it; started from a phase correlation (Guizar-Sicairos
2008, scikit-image, `normalization=None`) when the last known place does not fit any more.
`cv2.phaseCorrelate` is not used: measured wrong below one pixel.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray
from skimage.registration import phase_cross_correlation

from nestwatch.ground.normalise import fine_texture

Image = NDArray[np.float32]
Picture = TypeVar("Picture", NDArray[np.float32], NDArray[np.uint8])
_CRITERIA = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 40, 1e-4)
_EVERYWHERE: Any = None
_MIN_LIKENESS = 0.35
_SUDDEN_LOSS = 0.12
_BLURS_PX = (1.0, 4.0, 8.0)
"""Of `fine_texture`, in half-size pixels."""
_MOST_TURN = 15.0
"""Degrees. Where half of a picture is covered, ECC may settle on a turn by 70 with a likeness of 0.4."""


@dataclass(frozen=True, slots=True)
class Motion:
    """Where a picture lies against the reference. `warp`: float32 (2, 3), maps reference pixel (x, y) to the
    picture's pixel. `likeness`: correlation after alignment (-1..1)."""

    warp: Image
    likeness: float

    def shift(self, rows: int, columns: int) -> tuple[float, float, float]:
        """(right, down, turn): pixels moved at the picture's centre, and degrees."""
        centre = np.array([columns / 2, rows / 2, 1.0])
        moved = self.warp @ centre
        turn = float(np.degrees(np.arctan2(self.warp[1, 0], self.warp[0, 0])))
        return float(moved[0] - centre[0]), float(moved[1] - centre[1]), turn


STILL = np.eye(2, 3, dtype=np.float32)


def high_pass(picture: NDArray[np.uint8] | Image) -> Image:
    """What is finer than a few pixels, in units of its own local spread: float32, same shape, -1..1.

    Divided by the spread of the whole picture instead, the few hard edges of a shadow outweigh all the ground
    that lies still, and the shadow is followed.
    """
    return fine_texture(picture, _BLURS_PX, 1.0)


def find_motion(reference: Image, moving: Image, *, start: Motion | None = None) -> Motion | None:
    """Where `moving` lies against `reference` (both from `high_pass`, same shape); None if it cannot be told.

    `start` is the last known motion. A large sudden move is looked for by phase correlation.
    """
    known = start.warp if start is not None else STILL
    motion = _refine(reference, moving, known)
    expected = start.likeness if start is not None else 1.0
    if motion is not None and motion.likeness > expected - _SUDDEN_LOSS:
        return motion
    jumped = _refine(reference, moving, _coarse(reference, moving))
    found = (m for m in (motion, jumped) if m is not None and abs(m.shift(1, 1)[2]) <= _MOST_TURN)
    best = max(found, key=lambda m: m.likeness, default=None)
    return best if best is not None and best.likeness >= _MIN_LIKENESS else None


def _refine(reference: Image, moving: Image, warp: Image) -> Motion | None:
    try:
        likeness, found = cv2.findTransformECC(
            reference, moving, warp.copy(), cv2.MOTION_EUCLIDEAN, _CRITERIA, _EVERYWHERE, 3
        )
    except cv2.error:
        return None  # ECC says so this way when it does not converge: no overlap or no texture
    return Motion(np.asarray(found, np.float32), float(likeness))


def _coarse(reference: Image, moving: Image) -> Image:
    window = np.outer(np.hanning(reference.shape[0]), np.hanning(reference.shape[1]))
    shift, _, _ = phase_cross_correlation(  # type: ignore[no-untyped-call]
        reference * window, moving * window, upsample_factor=4, normalization=None
    )
    warp = STILL.copy()
    warp[0, 2], warp[1, 2] = -shift[1], -shift[0]
    return warp


def undo(picture: Picture, warp: Image) -> Picture:
    """`picture` moved back onto the reference (bilinear; edges repeat)."""
    size = (picture.shape[1], picture.shape[0])
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    moved = cv2.warpAffine(picture, warp, size, flags=flags, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(moved, picture.dtype)


def rescale(warp: Image, factor: float) -> Image:
    """The same motion for pictures `factor` times as large."""
    out = warp.copy()
    out[:, 2] *= factor
    return out
