"""The site file, read and checked: `load_site` gives the records or one line that says what to mend."""

from __future__ import annotations

import os
import re
import tomllib
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from nestwatch.errors import SiteError
from nestwatch.site.checks import find_mistakes
from nestwatch.site.mistakes import Mistake, from_pydantic
from nestwatch.site.pens import pen_of
from nestwatch.site.places import in_words, line_of
from nestwatch.site.records import Animal, Camera, Mail, Mark, Notify, Site, Zone
from nestwatch.site.schema import CameraPart, MailPart, NotifyPart, SiteFile


def load_site(path: Path) -> Site:
    """Read and check a site file.

    Raises `SiteError` with one line: the file, the line where it can be told, the place in words, what is
    wrong and what to do; further mistakes are counted. Folders of footage are not looked at.
    """
    text = read_text(path)
    data = parse(path, text)
    parts = validate(path, text, data)
    mistakes = find_mistakes(parts)
    if mistakes:
        raise site_error(path, text, data, mistakes)
    return site_of(path, parts)


def read_text(path: Path) -> str:
    """The file's text; raises `SiteError` where there is none."""
    if path.is_dir():
        raise SiteError(f"{path}: is a folder; name the site file in it, such as {path / 'site.toml'}.")
    try:
        return path.read_bytes().decode("utf-8-sig")  # Windows editors may put a mark at the beginning
    except FileNotFoundError:
        raise SiteError(f"{path}: there is no such file; check the name, or run: nestwatch demo") from None
    except OSError as error:
        raise SiteError(f"{path}: cannot be read ({error.strerror}); check who may read it.") from error
    except UnicodeDecodeError:
        raise SiteError(f"{path}: is not text in UTF-8; save it again as UTF-8.") from None


def parse(path: Path, text: str) -> dict[str, Any]:
    """Text to plain values; raises `SiteError` where it is no TOML."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        # Python 3.11 gives the line in the message only (3.14 has attributes); without one, none is told.
        message = str(error)
        found = re.search(r" \(at line (\d+), column \d+\)$", message)
        line = f", line {found[1]}" if found else ""
        message = message[: found.start()] if found else message
        raise SiteError(f"{path}{line}: is not valid TOML ({message}); {_toml_hint(message)}.") from None


def validate(path: Path, text: str, data: dict[str, Any]) -> SiteFile:
    """Keys, types and ranges; raises `SiteError`. What they mean together is not looked at."""
    try:
        return SiteFile.model_validate(data)
    except ValidationError as error:
        raise site_error(path, text, data, from_pydantic(error)) from None


def _toml_hint(message: str) -> str:
    """What usually lies behind a complaint of the parser."""
    if "\\" in message:
        return "write folders with forward slashes, such as footage/sandbank"
    if "overwrite" in message or "twice" in message:
        return "a key or table is written twice; keep one"
    return "look for a missing quote, bracket or equals sign there or just before"


def site_error(path: Path, text: str, data: dict[str, Any], mistakes: list[Mistake]) -> SiteError:
    """The first mistake in one line, and how many more there are."""
    first = mistakes[0]
    line = line_of(first.line_path or first.path, text)
    place = f"{path}, line {line}" if line else f"{path}"
    more = len(mistakes) - 1
    rest = f" ({more} more mistake{'s' if more > 1 else ''} in this file.)" if more else ""
    stop = "" if first.text.endswith("?") else "."
    return SiteError(f"{place}: {in_words(first.path, data)}: {first.text}{stop}{rest}")


def site_of(path: Path, parts: SiteFile) -> Site:
    """The records of a file of the right form; every post must have a place (`checks` tells)."""
    folder = Path(os.path.abspath(path)).parent
    return Site(
        path=path,
        **parts.site.model_dump(),
        animal=Animal(**parts.animal.model_dump()),
        pens=tuple(pen_of(pen) for pen in parts.pen),
        cameras=tuple(_camera(camera, folder) for camera in parts.camera),
        notify=None if parts.notify is None else _notify(parts.notify),
    )


def _notify(part: NotifyPart) -> Notify:
    return Notify(None if part.mail is None else _mail(part.mail), part.command, part.places)


def _mail(part: MailPart) -> Mail:
    usual = {"starttls": 587, "tls": 465, "none": 25}  # RFC 6409, RFC 8314, RFC 5321
    return Mail(
        server=part.server,
        port=usual[part.security] if part.port is None else part.port,
        security=part.security,
        user=part.user,
        sender=part.sender,
        to=part.to,
    )


def _camera(part: CameraPart, folder: Path) -> Camera:
    return Camera(
        name=part.name,
        pen=part.pen,
        footage=Path(os.path.abspath(folder / part.footage)),
        stamp=part.stamp,
        clock=part.clock,
        clock_error_s=part.clock_error_s,
        picture=part.picture,
        zones=tuple(Zone(zone.name, zone.kind, zone.outline) for zone in part.zone),
        marks=tuple(Mark(mark.post, mark.pixel) for mark in part.mark),
    )
