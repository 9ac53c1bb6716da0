"""Still pictures taken at intervals: when each was taken, and its planes.

JPEG is decoded by the same decoder as Motion JPEG, so luma and chroma are the stored planes here too.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import av
from av.video.codeccontext import VideoCodecContext
from PIL import ExifTags, Image

from nestwatch.footage.opening import CannotRead, plain_errors


@dataclass(frozen=True, slots=True)
class StillHead:
    """What a picture's header says. `taken` is aware where an offset was written, None without a time."""

    width: int
    height: int
    taken: datetime | None


def still_head(path: Path) -> StillHead:
    """Read a JPEG's header alone. Raises `CannotRead`."""
    try:
        with Image.open(path) as picture:
            if picture.format not in {"JPEG", "MPO"}:
                raise CannotRead("not a JPEG picture")
            exif = picture.getexif().get_ifd(ExifTags.IFD.Exif)
            return StillHead(picture.width, picture.height, _taken(exif))
    except (OSError, ValueError, SyntaxError):
        raise CannotRead("not a readable picture") from None


def _taken(exif: dict[int, object]) -> datetime | None:
    """EXIF 2.31: DateTimeOriginal `YYYY:MM:DD HH:MM:SS`, OffsetTimeOriginal `+HH:MM`."""
    text = str(exif.get(ExifTags.Base.DateTimeOriginal, "")).strip("\0 ")
    offset = str(exif.get(ExifTags.Base.OffsetTimeOriginal, "")).strip("\0 ")
    for value, pattern in ((text + offset, "%Y:%m:%d %H:%M:%S%z"), (text, "%Y:%m:%d %H:%M:%S")):
        try:
            return datetime.strptime(value, pattern)  # noqa: DTZ007  (naive: the camera's wall clock)
        except ValueError:
            continue
    return None


def _is_cut(data: bytes) -> bool:
    """A JPEG whose last scan has no end: the decoder would fill the rest with grey and say nothing."""
    return data.rfind(b"\xff\xd9") < data.rfind(b"\xff\xda")


def decode_still(path: Path) -> av.VideoFrame:
    """The picture as a frame. Raises `CannotRead`."""
    with plain_errors():
        data = path.read_bytes()
        if _is_cut(data):
            raise CannotRead("the picture is cut off")
        context = VideoCodecContext.create("mjpeg", "r")
        frames = [*context.decode(av.Packet(data)), *context.decode(None)] if data else []
    if not frames or frames[0].is_corrupt:
        raise CannotRead("not a readable picture")
    return frames[0]
