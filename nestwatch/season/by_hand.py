"""Digs that no scan found: added from footage, seen by eye, or known by their eggs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from nestwatch.errors import DoubtfulEntry, EntryError
from nestwatch.season.digs import dig_by_id, digs_of, next_letter
from nestwatch.season.instants import written
from nestwatch.season.matching import Seen, closeness
from nestwatch.season.open import Record, Writer
from nestwatch.season.records import Dig, Point, Source

if TYPE_CHECKING:
    from nestwatch.site.records import Camera, Site

BESIDE = timedelta(hours=12)
"""A dig may lie so far outside the night's hours: it may be seen by eye in daylight."""
OUTSIDE_M = 1.0
"""A place on the plan may be so far outside the pen's outline."""


@dataclass(frozen=True, slots=True)
class HandDig:
    """A dig as the keeper tells of it.

    `source`: `footage` (needs `camera` and `pixel`), `eye` or `found`. `pen` may be left out where a camera
    tells it. `plan_m` is worked out from `pixel` where that is given and the camera has marks.
    """

    source: Source
    start: datetime
    end: datetime
    camera: str | None = None
    pixel: Point | None = None
    pen: str | None = None
    plan_m: Point | None = None
    note: str | None = None


def add_dig(record: Record, site: Site, night: date, told: HandDig, *, sure: bool = False) -> Dig:
    """Add a dig to a night, which need not have been scanned; it is called by a letter.

    Raises `EntryError` for what cannot be, and `DoubtfulEntry` (unless `sure`) where a dig of the record lies
    at the same time and place.
    """
    _check_times(record, site, night, told)
    camera, pen = _camera(site, told), _pen(site, told)
    plan = told.plan_m or _on_plan(site, camera, told.pixel)
    with record.writing(f"{night}: dig added ({told.source})") as writer:
        if not sure:
            _ask_about_same(digs_of(record, night), _seen(told, pen, plan))
        row = night_row(record, writer, site, night)
        letter = next_letter(record, row)
        number = writer.add("dig", _values(told, row, letter, pen, plan))
        writer.words = f"{night} dig {letter}: added ({told.source})"
    return dig_by_id(record, number)


def night_row(record: Record, writer: Writer, site: Site, night: date) -> int:
    """The row of a night, made where the record has none. Inside an action."""
    from nestwatch.site.hours import night_hours

    row = record.row("SELECT id FROM night WHERE date = ?", (night.isoformat(),))
    if row is not None:
        return int(row["id"])
    hours = night_hours(site, night)
    return writer.add(
        "night",
        {
            "date": night.isoformat(),
            "starts_at": written(hours.start),
            "ends_at": written(hours.end),
            "nesting_from": written(hours.nesting[0]),
            "nesting_to": written(hours.nesting[1]),
        },
    )


def _check_times(record: Record, site: Site, night: date, told: HandDig) -> None:
    from nestwatch.site.hours import night_hours

    hours = night_hours(site, night)
    if told.end <= told.start:
        raise EntryError("the dig ends before it begins; change one of the times.")
    if told.start > record.clock():
        raise EntryError("that time has not come yet; check the day.")
    if told.start < hours.start - BESIDE or told.end > hours.end + BESIDE:
        raise EntryError(f"these times do not belong to the night of {night}; check the day.")


def _camera(site: Site, told: HandDig) -> Camera | None:
    from nestwatch.site.names import did_you_mean

    if told.camera is None:
        if told.source == "footage" or told.pixel is not None:
            raise EntryError("a dig from footage needs the camera and the place in its picture.")
        return None
    names = [camera.name for camera in site.cameras]
    if told.camera not in names:
        raise EntryError(f'the site has no camera "{told.camera}"{did_you_mean(told.camera, names) or "."}')
    camera = site.cameras[names.index(told.camera)]
    if told.source == "footage" and told.pixel is None:
        raise EntryError("a dig from footage needs its place in the picture (--pixel X,Y).")
    if told.pixel is not None and not _within(told.pixel, camera.picture):
        width, height = camera.picture
        raise EntryError(f'that pixel is outside the picture of "{camera.name}" ({width} x {height}).')
    return camera


def _within(pixel: Point, picture: tuple[int, int]) -> bool:
    return 0 <= pixel[0] <= picture[0] and 0 <= pixel[1] <= picture[1]


def _pen(site: Site, told: HandDig) -> str | None:
    """The pen's name: as told, as the camera looks, or the only one."""
    from nestwatch.site.names import did_you_mean

    names = [pen.name for pen in site.pens]
    if told.pen is not None and told.pen not in names:
        raise EntryError(f'the site has no pen "{told.pen}"{did_you_mean(told.pen, names) or "."}')
    camera = next((each for each in site.cameras if each.name == told.camera), None)
    by_camera = None if camera is None else site.pen_of(camera)
    name = told.pen or (by_camera.name if by_camera else names[0] if len(names) == 1 else None)
    if told.plan_m is not None:
        _check_plan(site, name, told.plan_m)
    return name


def _check_plan(site: Site, name: str | None, place: Point) -> None:
    pen = next((pen for pen in site.pens if pen.name == name), None)
    if pen is None:
        raise EntryError("a place on the plan needs its pen (--pen NAME).")
    for value, corners in zip(place, zip(*pen.outline, strict=True), strict=True):
        if not min(corners) - OUTSIDE_M <= value <= max(corners) + OUTSIDE_M:
            raise EntryError(f'that place is outside the pen "{pen.name}"; give metres on its plan.')


def _on_plan(site: Site, camera: Camera | None, pixel: Point | None) -> Point | None:
    """Where a pixel lies on the ground, None without marks."""
    from nestwatch.site import plan_map

    if camera is None or pixel is None:
        return None
    plan = plan_map(site, camera)
    if plan is None:
        return None
    x, y = (float(value) for value in plan.to_plan([pixel])[0])
    return x, y


def _seen(told: HandDig, pen: str | None, plan: Point | None) -> Seen:
    return Seen(told.start, told.end, pen, plan, None, told.camera, told.pixel, None)


def _ask_about_same(digs: Sequence[Dig], new: Seen) -> None:
    for dig in digs:
        place = (dig.pen, dig.plan_m, dig.within_m, dig.camera, dig.pixel, dig.within_px)
        if closeness(Seen(dig.start, dig.end, *place), new) is not None:
            raise DoubtfulEntry(
                f"dig {dig.label} of this night lies at the same time and place: enter your find for that "
                "one; if it is another one, add --sure."
            )


def _values(
    told: HandDig, night: int, letter: str, pen: str | None, plan: Point | None
) -> dict[str, str | int | float | None]:
    from nestwatch.season.scan import as_json

    pixel = told.pixel or (None, None)
    x, y = plan or (None, None)
    return {
        "night": night,
        "source": told.source,
        "listed": 0,
        "letter": letter,
        "camera": told.camera,
        "cameras": as_json([] if told.camera is None else [told.camera]),
        "pen": pen,
        "starts_at": written(told.start),
        "ends_at": written(told.end),
        "pixel_x": pixel[0],
        "pixel_y": pixel[1],
        "plan_x": x,
        "plan_y": y,
        "note": told.note,
    }
