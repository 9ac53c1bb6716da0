"""The nesting zone over a still, hatched where it could not be judged."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.footage import read_pictures
from nestwatch.footage.records import Footage
from nestwatch.report.files import file_name, write_bytes
from nestwatch.report.frames import Rgb, jpeg, levels_of, outlined, stretched
from nestwatch.report.pictures import ReadPictures
from nestwatch.site.records import Zone
from nestwatch.site.zones import zone_mask

_WIDTH = 640
_PARTLY, _MOSTLY = 0.1, 0.5
_STEP = 12
_LINE = 46
_LEGEND = (
    ("judged in nesting hours", 0.0),
    ("not judged for more than a tenth of them", _PARTLY),
    ("not judged for more than half of them", _MOSTLY),
)

Box = tuple[float, float, float, float]
"""(left, top, right, bottom) in picture pixels."""


def seen_picture(
    footage: Footage,
    unseen: NDArray[np.floating],
    box: Box,
    zones: Sequence[Zone],
    picture: tuple[int, int],
    at: Sequence[datetime],
    folder: Path,
    *,
    read: ReadPictures = read_pictures,
) -> str | None:
    """Write `pictures/<camera>-seen.jpg` in `folder` and return that path; None where no frame can be read.

    `unseen`: (rows, columns) of patches that divide `box` evenly: share of nesting hours in which each was
    not judged. `picture`: (width, height) that `box` and `zones` refer to. `at`: instants in rising order;
    the first with a frame is shown. Raises `OutputError`.
    """
    frame = next((one for one in read(footage, list(at), width=_WIDTH) if one is not None), None)
    if frame is None:
        return None
    name = f"pictures/{file_name(footage.camera)}-seen.jpg"
    write_bytes(folder / name, jpeg(zone_shaded(frame, unseen, box, zones, picture)))
    return name


def zone_shaded(
    frame: Rgb, unseen: NDArray[np.floating], box: Box, zones: Sequence[Zone], picture: tuple[int, int]
) -> Rgb:
    """The still 640 pixels wide, the zone outlined and hatched, and a legend in words below it."""
    rows = round(frame.shape[0] * _WIDTH / frame.shape[1])
    still = np.asarray(cv2.resize(frame, (_WIDTH, rows), interpolation=cv2.INTER_AREA), np.uint8)
    share = _spread(unseen, box, picture, (rows, _WIDTH))
    if zones:
        share = np.where(zone_mask(zones, picture, (_WIDTH, rows)), share, 0.0)
    shaded = hatched(stretched(still, levels_of([still])), share)
    return np.concatenate([outlined(shaded, zones, picture), _legend()])


def hatched(image: Rgb, share: NDArray[np.floating]) -> Rgb:
    """`image` with light strokes on a darkened ground: one way where `share` (same rows and columns) is above
    a tenth, both ways where it is above half. Pattern and brightness tell it, no colour."""
    y, x = np.indices(share.shape)
    falling, rising = (x + y) % _STEP < 2, (x - y) % _STEP < 2
    partly, mostly = share > _PARTLY, share > _MOSTLY
    strokes = (partly & falling) | (mostly & rising)
    out = np.where(partly[..., None], image // 2, image)
    return np.asarray(np.where(strokes[..., None], 235, out), np.uint8)


def _spread(
    unseen: NDArray[np.floating], box: Box, picture: tuple[int, int], shape: tuple[int, int]
) -> NDArray[np.float64]:
    """The patches' shares at every pixel of the shown picture, 0 outside the box."""
    out = np.zeros(shape)
    zoom = shape[1] / picture[0], shape[0] / picture[1]
    left, right = (min(max(round(x * zoom[0]), 0), shape[1]) for x in (box[0], box[2]))
    top, bottom = (min(max(round(y * zoom[1]), 0), shape[0]) for y in (box[1], box[3]))
    if right > left and bottom > top:
        size = (right - left, bottom - top)
        share = np.asarray(unseen, np.float64)
        out[top:bottom, left:right] = cv2.resize(share, size, interpolation=cv2.INTER_NEAREST)
    return out


def _legend() -> Rgb:
    """One line for each pattern: (rows, 640, 3)."""
    return np.concatenate([_legend_line(text, share) for text, share in _LEGEND])


def _legend_line(text: str, share: float) -> Rgb:
    line = np.full((_LINE, _WIDTH, 3), 255, np.uint8)
    swatch = np.full((_LINE - 16, 60, 3), 130, np.uint8)
    line[8:-8, 12:72] = hatched(swatch, np.full(swatch.shape[:2], share + 0.01 if share else 0.0))
    cv2.rectangle(line, (12, 8), (71, _LINE - 9), (0, 0, 0), 1)
    cv2.putText(line, text, (86, 30), cv2.FONT_HERSHEY_SIMPLEX, 0.62, (0, 0, 0), 1, cv2.LINE_AA)
    return line
