"""Cutting, stretching and marking pictures. Arrays are uint8 RGB of shape (rows, columns, 3)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.nesting.records import Dig
from nestwatch.site.records import Point, Zone

Rgb = NDArray[np.uint8]
Levels = tuple[float, float]

_WHITE = (255, 255, 255)
_BLACK = (0, 0, 0)


@dataclass(frozen=True, slots=True)
class Window:
    """A square cut out of the picture: its top left corner and its side, in pixels of the picture the
    outlines were drawn on."""

    left: float
    top: float
    side: float

    def inside(self, place: Point, size: int) -> Point:
        """Where `place` (picture pixels) falls in the cut-out when that is `size` pixels wide."""
        zoom = size / self.side
        return ((place[0] - self.left) * zoom, (place[1] - self.top) * zoom)


def body_length_px(dig: Dig, picture: tuple[int, int]) -> float:
    """The animal's length in picture pixels, guessed where the outline was too faint to measure.

    The chamber lies under the rear edge, half a shell from the body's centre: so twice that distance, but
    at least a fortieth of the picture's width, below which nothing could have been recognised.
    """
    if dig.shell_length_px is not None:
        return dig.shell_length_px
    return max(2 * math.dist(dig.chamber, dig.body), picture[0] / 40)


def window_around(
    dig: Dig, picture: tuple[int, int], scale: tuple[float, float], *, bodies: float, least_px: float = 160
) -> Window:
    """The square around a dig's chamber, `bodies` body lengths wide and moved to lie inside the picture.

    It spans at least `least_px` footage pixels and three times the ring around the chamber. `scale` is
    footage pixels per picture pixel.
    """
    wanted = (
        bodies * body_length_px(dig, picture),
        least_px / min(scale),
        3 * 2 * dig.chamber_radius_px,
    )
    side = min(max(wanted), *picture)
    left, top = (
        min(max(place - side / 2, 0), length - side)
        for place, length in zip(dig.chamber, picture, strict=True)
    )
    return Window(left, top, side)


def cut(frame: Rgb, window: Window, picture: tuple[int, int], size: int) -> Rgb:
    """The window's part of `frame`, resized to (size, size, 3). The frame may be of any size."""
    rows, columns = frame.shape[:2]
    sx, sy = columns / picture[0], rows / picture[1]
    x0, x1 = _span(window.left * sx, window.side * sx, columns)
    y0, y1 = _span(window.top * sy, window.side * sy, rows)
    part = frame[y0:y1, x0:x1]
    method = cv2.INTER_LANCZOS4 if part.shape[1] < size else cv2.INTER_AREA
    return np.asarray(cv2.resize(part, (size, size), interpolation=method), np.uint8)


def _span(start: float, length: float, limit: int) -> tuple[int, int]:
    first = min(max(round(start), 0), limit - 1)
    return first, min(max(round(start + length), first + 1), limit)


def levels_of(images: Sequence[Rgb]) -> Levels:
    """The grey levels (1 and 98 per cent over all `images` together) to be shown as black and white.

    A burned-in clock or a white stone may be more than one per cent of a cut-out: it may go to full white,
    the soil may not go dark for it. At least 24 levels apart, so that an even picture is not blown up
    to noise.
    """
    sample = np.concatenate([image[::2, ::2].ravel() for image in images])
    low, high = np.percentile(sample, (1, 98))
    short = max(24 - (high - low), 0) / 2
    return float(low - short), float(high + short)


def in_colour(image: Rgb) -> bool:
    """True for a picture by day, False under infrared, where the channels are all but the same."""
    few = image[::4, ::4].astype(np.int16)
    return float(np.ptp(few, axis=2).mean()) > 3.0


def stretched(image: Rgb, levels: Levels) -> Rgb:
    """`image` with `levels` spread over 0..255."""
    low, high = levels
    table = np.clip((np.arange(256) - low) * (255 / (high - low)), 0, 255)
    return np.asarray(table.round().astype(np.uint8)[image], np.uint8)


def marked(image: Rgb, place: Point, radius: float) -> Rgb:
    """`image` with a thin open ring of `radius` pixels around `place` and a tick on two sides of it.

    White on a dark rim, so it shows on any grey and needs no colour; the ground inside stays free.
    """
    drawn = image.copy()
    ring = max(radius, 12.0)
    for colour, width in ((_BLACK, 6), (_WHITE, 2)):
        cv2.circle(drawn, _whole(place), round(ring), colour, width, cv2.LINE_AA)
        for side in (1, -1):
            ends = [_off(place, side * distance) for distance in (ring + 8, ring + 34)]
            cv2.line(drawn, ends[0], ends[1], colour, width, cv2.LINE_AA)
    return drawn


def _off(place: Point, distance: float) -> tuple[int, int]:
    """The pixel `distance` up and to the right of `place` on the diagonal."""
    step = distance / math.sqrt(2)
    return _whole((place[0] + step, place[1] - step))


def _whole(place: Point) -> tuple[int, int]:
    return round(place[0]), round(place[1])


def outlined(image: Rgb, zones: Sequence[Zone], picture: tuple[int, int]) -> Rgb:
    """`image` with the outlines of `zones` drawn faintly."""
    rows, columns = image.shape[:2]
    zoom = np.array([columns / picture[0], rows / picture[1]])
    corners = [np.round(np.array(zone.outline) * zoom).astype(np.int32) for zone in zones]
    drawn = image.copy()
    for colour, width in ((_BLACK, 3), (_WHITE, 1)):
        cv2.polylines(drawn, corners, True, colour, width, cv2.LINE_AA)
    return np.asarray(cv2.addWeighted(image, 0.5, drawn, 0.5, 0), np.uint8)


def jpeg(image: Rgb) -> bytes:
    """`image` as JPEG at quality 85."""
    _, coded = cv2.imencode(".jpg", image[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, 85])
    return coded.tobytes()
