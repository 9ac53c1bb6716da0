"""`nestwatch check`: say what the program understands of a site file, and what footage it finds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import click

from nestwatch.commands.boundary import PARTIAL, answer
from nestwatch.commands.night import chosen_night
from nestwatch.commands.options import date_option, site_argument, trust_option
from nestwatch.errors import NestwatchError

if TYPE_CHECKING:
    from nestwatch.footage.doubts import Lag
    from nestwatch.footage.records import Footage
    from nestwatch.site.records import Camera, NightHours, Site

_NAMED = 3  # unreadable files named one by one


@click.command()
@site_argument
@date_option
@trust_option
@click.pass_context
def check(ctx: click.Context, site_file: Path, night: date | None, trust_mtime: bool) -> None:
    """Say in words what a site file means and what is missing or doubtful.

    Nothing is watched and nothing is written. Doubts alone leave the exit code at 0; 1 means that a camera
    has no usable footage for the night, 3 that some of its files cannot be read.
    """
    from nestwatch.footage.doubts import cameras_disagree
    from nestwatch.site import load_site, night_hours, site_notes

    site = load_site(site_file)
    hours = night_hours(site, chosen_night(site, night))
    notes = [f"Note: {note}" for note in site_notes(site)]
    answer("\n".join([*_site_lines(site, hours), *_pen_lines(site), *notes]))
    checked = [_check_camera(site, camera, hours, trust_mtime) for camera in site.cameras]
    apart = cameras_disagree([one.lag for one in checked if one.lag])
    if apart:
        answer(f"Note: {apart}.")
    codes = {one.code for one in checked}
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


def _pen_lines(site: Site) -> Iterator[str]:
    """What the tape measurements of each pen come to."""
    from nestwatch.site.pens import pen_lines

    for pen in site.pens:
        first, *rest = pen_lines(pen, site.units) or ("",)
        if first:
            yield f'Pen "{pen.name}": {first}'
            yield from (f"  {line}." for line in rest)


@dataclass(frozen=True, slots=True)
class _Checked:
    """A camera looked at: the exit code that it alone would give, and its clock beside the disk's."""

    code: int
    lag: Lag | None = None


def _check_camera(site: Site, camera: Camera, hours: NightHours, trust_mtime: bool) -> _Checked:
    """Print what is known of a camera."""
    from nestwatch.footage import find_footage
    from nestwatch.footage.doubts import lag_of

    answer(f'Camera "{camera.name}": {", ".join(_camera_words(site, camera))}.')
    try:
        footage = find_footage(camera, hours, site.timezone, trust_mtime=trust_mtime)
    except NestwatchError as error:
        answer(f"  {error}")
        return _Checked(1)
    zone = ZoneInfo(site.timezone)
    lines = [*_footage_lines(footage, zone), *_footage_doubts(footage, hours, zone)]
    answer("\n".join(f"  {line}" for line in lines))
    if not footage.recordings:
        return _Checked(1)
    return _Checked(PARTIAL if footage.unreadable else 0, lag_of(footage))


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


def _footage_doubts(footage: Footage, hours: NightHours, zone: ZoneInfo) -> Iterator[str]:
    """Nesting hours without a recording, and what is odd about the clock."""
    from nestwatch.footage.doubts import clock_doubts, unrecorded

    if footage.recordings:
        missing = [_span(gap, zone) for gap in unrecorded(footage, hours.nesting)]
        more = f" and {len(missing) - _NAMED} times more" if len(missing) > _NAMED else ""
        if missing:
            yield f"Nesting hours without a recording: {', '.join(missing[:_NAMED])}{more}."
    yield from (f"Clock: {doubt}." for doubt in clock_doubts(footage, zone, datetime.now(UTC)))


def _span(span: tuple[datetime, datetime], zone: ZoneInfo) -> str:
    return f"from {_at(span[0], zone)} to {_at(span[1], zone)}"


def _at(instant: datetime, zone: ZoneInfo) -> str:
    return f"{instant.astimezone(zone):%H:%M}"


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
