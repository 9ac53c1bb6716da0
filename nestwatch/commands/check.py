"""`nestwatch check`: say what the program understands of a site file, and what footage it finds."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import click

from nestwatch.commands.boundary import PARTIAL, answer
from nestwatch.commands.night import chosen_night
from nestwatch.commands.options import date_option, site_argument, trust_option
from nestwatch.errors import NestwatchError

if TYPE_CHECKING:
    from nestwatch.footage.records import Footage
    from nestwatch.site.records import Camera, NightHours, Site

_NAMED = 3  # unreadable files named one by one


@click.command()
@site_argument
@date_option
@trust_option
@click.pass_context
def check(ctx: click.Context, site_file: Path, night: date | None, trust_mtime: bool) -> None:
    """Say in words what a site file means and what footage is there.

    Nothing is watched and nothing is written. Exit code 1 means that a camera has no usable footage for
    the night, 3 that some of its files cannot be read.
    """
    from nestwatch.site import load_site, night_hours, site_notes

    site = load_site(site_file)
    hours = night_hours(site, chosen_night(site, night))
    answer("\n".join([*_site_lines(site, hours), *(f"Note: {note}" for note in site_notes(site))]))
    codes = [_check_camera(site, camera, hours, trust_mtime) for camera in site.cameras]
    if any(codes):
        ctx.exit(1 if 1 in codes else PARTIAL)


def _site_lines(site: Site, hours: NightHours) -> Iterator[str]:
    zone = ZoneInfo(site.timezone)
    cameras = _count(len(site.cameras), "camera")
    yield f"The site file is in order: {site.name}, {site.animal.name}, {cameras}."
    yield f"Night of {hours.date}: {_span((hours.start, hours.end), zone)}, local time in {site.timezone}."
    yield f"Digs are expected {_span(hours.nesting, zone)}; {_sun(hours, zone)}."


def _sun(hours: NightHours, zone: ZoneInfo) -> str:
    sunset = f"sunset {_at(hours.sunset, zone)}" if hours.sunset else "the sun does not set"
    return f"{sunset}, sunrise {_at(hours.sunrise, zone)}" if hours.sunrise else f"{sunset}, no sunrise"


def _check_camera(site: Site, camera: Camera, hours: NightHours, trust_mtime: bool) -> int:
    """Print what is known of a camera; return the exit code that it alone would give."""
    from nestwatch.footage import find_footage

    answer(f'Camera "{camera.name}": {", ".join(_camera_words(site, camera))}.')
    try:
        footage = find_footage(camera, hours, site.timezone, trust_mtime=trust_mtime)
    except NestwatchError as error:
        answer(f"  {error}")
        return 1
    answer("\n".join(f"  {line}" for line in _footage_lines(footage, ZoneInfo(site.timezone))))
    if not footage.recordings:
        return 1
    return PARTIAL if footage.unreadable else 0


def _camera_words(site: Site, camera: Camera) -> Iterator[str]:
    pen = site.pen_of(camera)
    yield f"picture {camera.picture[0]} x {camera.picture[1]}"
    yield f"looks at {pen.name}" if pen else "tied to no pen"
    for kind in ("nesting", "water", "ignore"):
        names = [zone.name for zone in camera.zones if zone.kind == kind]
        if names:
            yield f"{kind} {', '.join(names)}"
    yield _count(len(camera.marks), "mark")


def _footage_lines(footage: Footage, zone: ZoneInfo) -> Iterator[str]:
    if footage.recordings:
        first = min(recording.start for recording in footage.recordings)
        last = max(recording.end for recording in footage.recordings)
        yield (
            f"{_count(len(footage.recordings), 'recording')} of this night, {_span((first, last), zone)}, "
            f"{footage.width} x {footage.height} pixels."
        )
    else:
        yield f"No recording of this night in {footage.folder}: check the folder, the stamp and the clock."
    for bad in footage.unreadable[:_NAMED]:
        yield f"Cannot be read: {bad.file} ({bad.why})."
    if len(footage.unreadable) > _NAMED:
        yield f"Cannot be read: {len(footage.unreadable) - _NAMED} more files."
    yield from footage.notes


def _span(span: tuple[datetime, datetime], zone: ZoneInfo) -> str:
    return f"from {_at(span[0], zone)} to {_at(span[1], zone)}"


def _at(instant: datetime, zone: ZoneInfo) -> str:
    return f"{instant.astimezone(zone):%H:%M}"


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
