"""Photographs of females: checked to be pictures, and copied into the site's folder."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path
from typing import TYPE_CHECKING

from nestwatch.errors import EntryError

if TYPE_CHECKING:
    from nestwatch.site.records import Site

FOLDER = "photographs"
LARGEST_BYTES = 40_000_000
LARGEST_PIXELS = 120_000_000
ENDINGS = {"JPEG": ".jpg", "PNG": ".png", "WEBP": ".webp", "MPO": ".jpg"}
"""What is taken, by Pillow's name for the format; a phone's MPO is a JPEG with more behind it."""


def keep_photograph(site: Site, female: str, source: Path) -> str:
    """Copy a picture file into the site's folder; returns its path relative to that, with `/`.

    The name holds a fingerprint of the content, so an earlier photograph is never written over. Raises
    `EntryError` for what is no picture, `OutputError` where it cannot be written.
    """
    return keep_picture(site, female, _read(source), source.name)


def keep_picture(site: Site, female: str, content: bytes, told_name: str) -> str:
    """As `keep_photograph`, for a file's content; `told_name` is what messages call it."""
    from nestwatch.report.files import file_name, write_bytes

    ending = ENDINGS[_kind(content, told_name)]
    mark = hashlib.sha256(content).hexdigest()[:8]
    kept = f"{FOLDER}/{file_name(female)}-{mark}{ending}"
    if not (site.path.parent / kept).is_file():
        write_bytes(site.path.parent / kept, content)
    return kept


def _read(source: Path) -> bytes:
    try:
        if source.stat().st_size > LARGEST_BYTES:
            raise EntryError(
                f"{source} is larger than {LARGEST_BYTES // 1_000_000} MB; save it smaller first."
            )
        return source.read_bytes()
    except OSError as error:
        raise EntryError(f"{source}: cannot be read ({error.strerror}); check the name.") from error


def _kind(content: bytes, name: str) -> str:
    """Pillow's name of the format, after reading the picture to its end."""
    from PIL import Image, UnidentifiedImageError

    try:
        with Image.open(io.BytesIO(content), formats=("JPEG", "PNG", "WEBP")) as picture:
            kind, (width, height) = str(picture.format), picture.size
            if width * height > LARGEST_PIXELS:
                raise EntryError(f"{name} has {width} x {height} pixels; save it smaller first.")
            picture.load()
            return kind
    except UnidentifiedImageError:
        raise EntryError(
            f"{name} is no picture that can be read; give a JPEG, PNG or WebP file (have a phone's HEIC "
            "saved as JPEG)."
        ) from None
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise EntryError(f"{name} is a damaged picture ({error}); take another copy of it.") from error
