"""A time-lapse of a stay: H.264 in mp4 that a browser plays, the local time in a strip below the picture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta, tzinfo
from fractions import Fraction
from itertools import chain
from pathlib import Path

import av
import cv2
import numpy as np

from nestwatch.footage import read_pictures
from nestwatch.footage.records import Footage
from nestwatch.nesting.records import Dig
from nestwatch.report.files import replacing
from nestwatch.report.frames import Levels, Rgb, Window, cut, in_colour, levels_of, stretched, window_around
from nestwatch.report.pictures import ReadPictures

_SIZE = 480
_STRIP = 40
_BODIES = 8.0
_RATE = 12
_LONGEST_S = 19
_LEAD = timedelta(minutes=3)
_STEP_S = 4.0  # no closer than the key frames of common recorders
# 19 s at this ceiling are 0.83 MB, whatever the noise in the picture.
_CODEC = {"crf": "26", "preset": "veryfast", "maxrate": "350k", "bufsize": "350k", "threads": "1"}


def stay_clip(
    footage: Footage,
    dig: Dig,
    picture: tuple[int, int],
    path: Path,
    *,
    local: tzinfo,
    read: ReadPictures = read_pictures,
) -> bool:
    """Write the time-lapse of a dig to `path`: from 3 min before to 3 min after, at most 20 s and about 1 MB.

    `picture` is the (width, height) that the dig's places refer to, `local` the site's time zone. Moments
    without a frame are left out, and the time in the strip jumps. Returns False, and writes nothing, where
    no frame could be read. Raises `OutputError`.
    """
    window = window_around(dig, picture, footage.scale, bodies=_BODIES)
    levels = _levels(footage, dig, picture, window, read)
    times = _times(dig)
    shown = (
        _with_strip(_shown(cut(frame, window, picture, _SIZE), levels), _caption(dig, at, local))
        for at, frame in zip(times, read(footage, times, reach_s=_step_s(times)), strict=True)
        if frame is not None
    )
    first = next(shown, None)
    if first is None:
        return False
    with replacing(path) as temporary:
        _encode(temporary, chain([first], shown))
    return True


def _times(dig: Dig, most: int = _RATE * _LONGEST_S) -> list[datetime]:
    """Evenly spaced instants over the stay and its lead, at most `most`."""
    start, length = dig.start - _LEAD, dig.end - dig.start + 2 * _LEAD
    count = max(2, min(most, int(length.total_seconds() / _STEP_S)))
    return [start + length * (index / (count - 1)) for index in range(count)]


def _step_s(times: Sequence[datetime]) -> float:
    return (times[1] - times[0]).total_seconds()


def _levels(
    footage: Footage, dig: Dig, picture: tuple[int, int], window: Window, read: ReadPictures
) -> dict[bool, Levels]:
    """One contrast for all pictures by day (True) and one for infrared (False), from nine moments.

    A light that none of them shows is left as recorded.
    """
    frames = read(footage, _times(dig, most=9))
    crops = [cut(frame, window, picture, _SIZE // 2) for frame in frames if frame is not None]
    alike = {light: [crop for crop in crops if in_colour(crop) == light] for light in (True, False)}
    return {light: levels_of(some) if some else (0.0, 255.0) for light, some in alike.items()}


def _shown(crop: Rgb, levels: dict[bool, Levels]) -> Rgb:
    return stretched(crop, levels[in_colour(crop)])


def _caption(dig: Dig, at: datetime, local: tzinfo) -> str:
    """Local time and the stage at that moment, in ASCII for OpenCV's stroke font."""
    stage = next((stage.stage for stage in dig.stages if stage.start <= at < stage.end), "")
    return f"{at.astimezone(local):%H:%M}   {stage}".rstrip()


def _with_strip(image: Rgb, text: str) -> Rgb:
    """The picture with a dark strip of text below it: nothing of the animal is covered."""
    strip = np.full((_STRIP, image.shape[1], 3), 24, np.uint8)
    cv2.putText(strip, text, (12, 28), cv2.FONT_HERSHEY_SIMPLEX, 0.75, (235, 235, 235), 1, cv2.LINE_AA)
    return np.concatenate([image, strip])


def _encode(path: Path, images: Iterator[Rgb]) -> None:
    """Write the images as H.264 yuv420p with the index in front (it plays before it is all loaded)."""
    with av.open(str(path), "w", format="mp4", options={"movflags": "+faststart"}) as container:
        stream = container.add_stream("libx264", rate=_RATE, options=_CODEC)
        stream.width, stream.height, stream.pix_fmt = _SIZE, _SIZE + _STRIP, "yuv420p"
        stream.time_base = Fraction(1, _RATE)
        for image in images:
            container.mux(stream.encode(av.VideoFrame.from_ndarray(image, format="rgb24")))
        container.mux(stream.encode(None))
