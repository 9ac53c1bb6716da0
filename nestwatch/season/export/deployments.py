"""`deployments` of Camtrap DP 1.0.2: one for each camera and night that was recorded. Pure.

Not one for the season: whoever reads the package works out from start and end how long was looked, and a
camera that was off for a night did not look.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from nestwatch.season.export.places import SharedPlace
from nestwatch.season.export.records import Field, Row, Table
from nestwatch.season.instants import read
from nestwatch.season.records import Footage, Night
from nestwatch.site.records import Site

_FIELDS = (
    Field("deploymentID", "string", "Night and camera."),
    Field("locationID", "string", "The camera's place: its name."),
    Field("locationName", "string", "The pen."),
    Field("latitude", "number", "Degrees, WGS 84."),
    Field("longitude", "number", "Degrees, WGS 84."),
    Field("coordinateUncertainty", "integer", "Metres."),
    Field("deploymentStart", "datetime", "When recording began that night."),
    Field("deploymentEnd", "datetime", "When it ended."),
    Field("cameraID", "string", "The camera's name."),
    Field("timestampIssues", "boolean", "Whether its clock disagreed with another camera's."),
    Field("baitUse", "boolean", "Never."),
    Field("featureType", "string", "What the camera looks at."),
    Field("deploymentGroups", "string", "The season."),
    Field("deploymentComments", "string", "What was not recorded in between."),
)


def deployment_id(night: date, camera: str) -> str:
    """`2026-06-12_sandbank`."""
    return f"{night.isoformat()}_{camera}"


def recorded(footage: Footage) -> tuple[datetime, datetime] | None:
    """From when to when a camera recorded in a night, pauses in between included; None where it did not."""
    if footage.seconds_read <= 0:
        return None
    start, end = footage.start, footage.end
    gaps = sorted((read(each["from"]), read(each["to"])) for each in footage.gaps)
    for gap in gaps:
        if gap[0] <= start < gap[1]:
            start = gap[1]
    for gap in reversed(gaps):
        if gap[0] < end <= gap[1]:
            end = gap[0]
    return (start, end) if start < end else None


def deployments_table(site: Site, nights: Sequence[Night], place: SharedPlace) -> Table:
    """The table; a camera that recorded nothing in a night has no row for it."""
    rows = tuple(
        _row(site, night, footage, span, place)
        for night in nights
        for footage in night.footage
        if (span := recorded(footage)) is not None
    )
    return Table("deployments", "Nights of cameras that were recorded.", _FIELDS, rows)


def _row(
    site: Site, night: Night, footage: Footage, span: tuple[datetime, datetime], place: SharedPlace
) -> Row:
    camera = footage.camera
    return {
        "deploymentID": deployment_id(night.date, camera),
        "locationID": camera,
        "locationName": _pen(site, camera),
        "latitude": place.latitude,
        "longitude": place.longitude,
        "coordinateUncertainty": place.within_m,
        "deploymentStart": span[0],
        "deploymentEnd": span[1],
        "cameraID": camera,
        "timestampIssues": _clock_doubted(night, camera),
        "baitUse": False,
        "featureType": "nestSite",
        "deploymentGroups": f"season:{night.date.year}",
        "deploymentComments": _pauses(footage, span),
    }


def _pen(site: Site, camera: str) -> str | None:
    found = next((each for each in site.cameras if each.name == camera), None)
    pen = None if found is None else site.pen_of(found)
    return None if pen is None else pen.name


def _clock_doubted(night: Night, camera: str) -> bool:
    return any(each.get("words") and camera in {each["camera"], each["other"]} for each in night.clocks)


def _pauses(footage: Footage, span: tuple[datetime, datetime]) -> str | None:
    whole = (span[1] - span[0]).total_seconds()
    missing = whole - footage.seconds_read
    return f"{missing / 60:.0f} min in between were not recorded" if missing >= 30 else None
