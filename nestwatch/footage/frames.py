"""One decoded frame -> arrays: luma as stored, distance of the chroma from grey, RGB for people.

The planes are read where they lie; no colour conversion is made for luma (a conversion to "gray" would
stretch the limited range).
"""

from __future__ import annotations

import av
import cv2
import numpy as np
from numpy.typing import NDArray

_PLANAR_8BIT = frozenset(
    f"yuv{j}{layout}p" for j in ("", "j") for layout in ("420", "422", "444", "440", "411")
) | {"gray", "nv12", "nv21"}
_CHROMA_STEP = 8  # every 8th chroma sample both ways: an average over thousands of samples all the same


def plain(frame: av.VideoFrame) -> av.VideoFrame:
    """The frame itself where its planes are 8 bit luma and chroma, else converted to yuv420p."""
    return frame if frame.format.name in _PLANAR_8BIT else frame.reformat(format="yuv420p")


def plane(frame: av.VideoFrame, index: int) -> NDArray[np.uint8]:
    """Plane `index` of a `plain` frame, (rows, columns), cropped to the picture; a view into the frame."""
    source = frame.planes[index]
    rows: NDArray[np.uint8] = np.frombuffer(memoryview(source), np.uint8)
    rows = rows[: source.line_size * source.height].reshape(source.height, source.line_size)
    interleaved = index == 1 and frame.format.name in {"nv12", "nv21"}
    return rows[:, : source.width * (2 if interleaved else 1)]


def luma(frame: av.VideoFrame) -> NDArray[np.uint8]:
    """The Y plane, uint8 (rows, columns), levels as stored. A view: copy it to keep it."""
    return plane(plain(frame), 0)


def chroma(frame: av.VideoFrame) -> float:
    """Mean absolute distance of the chroma planes from grey (128) in levels; NaN where there are none."""
    frame = plain(frame)
    if len(frame.planes) < 2:
        return float("nan")
    # An odd step over an interleaved plane meets U and V alike.
    step = _CHROMA_STEP + (len(frame.planes) == 2)
    parts = [plane(frame, index)[::_CHROMA_STEP, ::step] for index in range(1, len(frame.planes))]
    return float(np.mean([np.abs(part.astype(np.int16) - 128).mean() for part in parts]))


def rgb(frame: av.VideoFrame) -> NDArray[np.uint8]:
    """The picture for people: uint8 (rows, columns, 3), red first."""
    return np.asarray(frame.to_ndarray(format="rgb24"), dtype=np.uint8)


def reduce(picture: NDArray[np.uint8], size: tuple[int, int]) -> NDArray[np.uint8]:
    """`picture` at `size` (columns, rows): area means where it shrinks. Always a copy."""
    if (picture.shape[1], picture.shape[0]) == size:
        return picture.copy()
    return np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)


def reduced_size(width: int, height: int, to_width: int | None) -> tuple[int, int]:
    """(columns, rows) of a `width` x `height` picture brought to `to_width` columns; never enlarged."""
    if to_width is None or to_width >= width:
        return width, height
    return to_width, max(1, round(height * to_width / width))
