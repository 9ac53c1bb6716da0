"""Pictures of a dig: before, during and after as one and the same cut-out, and the whole frame."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Protocol

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.footage import read_pictures
from nestwatch.footage.records import Footage
from nestwatch.nesting.records import Dig, Visitor
from nestwatch.report.files import write_bytes
from nestwatch.report.frames import (
    Rgb,
    Window,
    cut,
    in_colour,
    jpeg,
    levels_of,
    marked,
    outlined,
    stretched,
    window_around,
)
from nestwatch.report.records import PICTURE_NAMES
from nestwatch.site.records import Zone

_SIZE = 480
_BODIES = 5.5
_OVERVIEW_WIDTH = 960
# The ground before and after is the median of these moments: an insect or a drop is in one of them only.
_AROUND = tuple(timedelta(seconds=seconds) for seconds in (-40, -20, 0, 20, 40))


class ReadPictures(Protocol):
    """`footage.read_pictures`: the frame nearest to each instant, None where there is none within reach."""

    def __call__(
        self, footage: Footage, times: Sequence[datetime], *, width: int | None = None, reach_s: float = 30.0
    ) -> Iterator[NDArray[np.uint8] | None]: ...


def dig_pictures(
    footage: Footage,
    dig: Dig,
    picture: tuple[int, int],
    folder: Path,
    stem: str,
    *,
    zones: Sequence[Zone] = (),
    read: ReadPictures = read_pictures,
) -> dict[str, str | None]:
    """Write a dig's four pictures to `<folder>/pictures/<stem>_<name>.jpg`.

    `picture` is the (width, height) that the dig's places and `zones` refer to. Before, during and after
    show the same ground at the same contrast; where the camera went from day to infrared in between, those
    of one light share theirs (one contrast for both would leave one of them black).
    Returns the path of each of `PICTURE_NAMES` relative to
    `folder`, None where no frame could be read. Raises `OutputError`.
    """
    window = window_around(dig, picture, footage.scale, bodies=_BODIES)
    crops, whole = _shots(footage, dig, picture, window, read)
    images = _finished_crops(crops, dig, window)
    if whole is not None:
        images["overview"] = _overview(whole, dig.chamber, dig.chamber_radius_px, picture, zones)
    return {
        name: _write(folder, f"{stem}_{name}", images[name]) if name in images else None
        for name in PICTURE_NAMES
    }


def visitor_picture(
    footage: Footage,
    visitor: Visitor,
    picture: tuple[int, int],
    folder: Path,
    stem: str,
    *,
    read: ReadPictures = read_pictures,
) -> str | None:
    """Write the whole frame from the middle of a visit, the place ringed where it is known.

    Returns the path relative to `folder`, None where no frame could be read. Raises `OutputError`.
    """
    middle = visitor.start + (visitor.end - visitor.start) / 2
    frame = next(iter(read(footage, [middle])), None)
    if frame is None:
        return None
    if visitor.place is None:
        image = _resized(frame)
    else:
        image = _overview(frame, visitor.place, picture[0] / 30, picture, ())
    return _write(folder, f"{stem}_visitor", image)


def _shots(
    footage: Footage, dig: Dig, picture: tuple[int, int], window: Window, read: ReadPictures
) -> tuple[dict[str, list[Rgb]], Rgb | None]:
    """The cut-outs under "before", "during" and "after", and the frame for the overview.

    Frames are cut as they come: whole ones would need a quarter of a gigabyte for 4K footage.
    """
    wanted = sorted(_moments(dig), key=lambda named: named[1])
    crops: dict[str, list[Rgb]] = {"before": [], "during": [], "after": []}
    whole: dict[str, Rgb] = {}
    for (name, _), frame in zip(wanted, read(footage, [at for _, at in wanted]), strict=True):
        if frame is not None:
            crops[name].append(cut(frame, window, picture, _SIZE))
            whole.setdefault(name, _resized(frame))
    best = (whole[name] for name in ("during", "after", "before") if name in whole)
    return crops, next(best, None)


def _moments(dig: Dig) -> list[tuple[str, datetime]]:
    """Every instant to read, with the picture it is for."""
    moments = [("during", dig.during_at)]
    for name, at in (("before", dig.before_at), ("after", dig.after_at)):
        if at is not None:
            moments += [(name, at + around) for around in _AROUND]
    return moments


def _finished_crops(crops: dict[str, list[Rgb]], dig: Dig, window: Window) -> dict[str, Rgb]:
    """Each picture's median, those of one light stretched alike, the chamber marked."""
    medians = {name: _median(shots) for name, shots in crops.items() if shots}
    place = window.inside(dig.chamber, _SIZE)
    radius = dig.chamber_radius_px * _SIZE / window.side
    images: dict[str, Rgb] = {}
    for light in (True, False):
        alike = {name: image for name, image in medians.items() if in_colour(image) == light}
        if alike:
            levels = levels_of(list(alike.values()))
            images |= {name: marked(stretched(image, levels), place, radius) for name, image in alike.items()}
    return images


def _median(shots: Sequence[Rgb]) -> Rgb:
    return np.asarray(np.median(np.stack(shots), axis=0), np.uint8)


def _overview(
    frame: Rgb,
    place: tuple[float, float],
    radius: float,
    picture: tuple[int, int],
    zones: Sequence[Zone],
) -> Rgb:
    image = _resized(frame)
    zoom = image.shape[1] / picture[0]
    image = outlined(stretched(image, levels_of([image])), zones, picture)
    high = image.shape[0] / picture[1]
    return marked(image, (place[0] * zoom, place[1] * high), max(radius * zoom, 20))


def _resized(frame: Rgb) -> Rgb:
    """`frame` as wide as the overview is shown. Small footage is enlarged, or its mark would hide much."""
    rows, columns = frame.shape[:2]
    size = (_OVERVIEW_WIDTH, round(rows * _OVERVIEW_WIDTH / columns))
    method = cv2.INTER_LANCZOS4 if columns < _OVERVIEW_WIDTH else cv2.INTER_AREA
    return np.asarray(cv2.resize(frame, size, interpolation=method), np.uint8)


def _write(folder: Path, stem: str, image: Rgb) -> str:
    name = f"pictures/{stem}.jpg"
    write_bytes(folder / name, jpeg(image))
    return name
