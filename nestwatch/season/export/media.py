"""`media` of Camtrap DP 1.0.2: the pictures and clips of digs."""

from __future__ import annotations

import mimetypes
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from pathlib import Path, PurePosixPath

from nestwatch.season.export.deployments import deployment_id
from nestwatch.season.export.records import Field, Row, Table
from nestwatch.season.records import Dig, Night

_FIELDS = (
    Field("mediaID", "string", "Night and file."),
    Field("deploymentID", "string", "Night and camera."),
    Field("timestamp", "datetime", "When it was recorded; of a clip and an overview, when the dig began."),
    Field("filePath", "string", "In the package; where not public, only a name for what stays at home."),
    Field("filePublic", "boolean", "Whether the file is in the package."),
    Field("fileName", "string", "The file's name."),
    Field("fileMediatype", "string", "IANA media type."),
    Field("mediaComments", "string", "What it shows."),
)
_STAMP = re.compile(r"_(\d{2})(\d{2})(\d{2})_")


@dataclass(frozen=True, slots=True)
class MediaFile:
    """One picture or clip of a dig. `inside`: its path in the night's folder. `what`: before, clip, ...

    Its own name holds the nest's pixel, so it gets another one for others: `2026-06-12/dig-1-before.jpg`.
    """

    night: Night
    dig: Dig
    camera: str
    inside: str
    what: str

    @property
    def id(self) -> str:
        """By night, the dig's id and what it shows; with the ending of the file."""
        name = f"dig-{self.dig.id}-{self.what}{PurePosixPath(self.inside).suffix}"
        return f"{self.night.date.isoformat()}/{name}"


def path_of(file: MediaFile, *, public: bool) -> str:
    """Where a package has the file, or would have it."""
    return f"{'media' if public else 'not-public'}/{file.id}"


def media_files(nights: Sequence[Night], folder_of: dict[str, Path]) -> tuple[list[MediaFile], int]:
    """Files of digs that are still there, and how many are gone. `folder_of`: by night (ISO), its folder."""
    named = [file for night in nights for file in _named(night)]
    there = [
        file
        for file in named
        if (folder := folder_of.get(file.night.date.isoformat())) and (folder / file.inside).is_file()
    ]
    return there, len(named) - len(there)


def media_table(files: Sequence[MediaFile], deployments: Table, zone: tzinfo, *, public: bool) -> Table:
    """The table: of the files, those whose camera has a deployment that night."""
    known = {row["deploymentID"] for row in deployments.rows}
    rows = tuple(
        _row(file, zone, public=public)
        for file in files
        if deployment_id(file.night.date, file.camera) in known
    )
    return Table("media", "Pictures and clips of digs.", _FIELDS, rows)


def _named(night: Night) -> Iterator[MediaFile]:
    """Files that the night's digs name, each once."""
    seen: set[str] = set()
    for dig in night.digs:
        for what, inside in [*dig.pictures.items(), ("clip", dig.clip)]:
            if dig.camera is not None and inside is not None and inside not in seen:
                seen.add(inside)
                yield MediaFile(night, dig, dig.camera, inside, what)


def _row(file: MediaFile, zone: tzinfo, *, public: bool) -> Row:
    return {
        "mediaID": file.id,
        "deploymentID": deployment_id(file.night.date, file.camera),
        "timestamp": _taken_at(file, zone),
        "filePath": path_of(file, public=public),
        "filePublic": public,
        "fileName": PurePosixPath(file.id).name,
        "fileMediatype": mimetypes.guess_type(file.inside)[0] or "image/jpeg",
        "mediaComments": f"{file.what} of dig {file.dig.label}",
    }


def _taken_at(file: MediaFile, zone: tzinfo) -> datetime:
    """The time of day in the file's name, on the day nearest to the dig; else the dig's start."""
    found = _STAMP.search(Path(file.inside).name)
    if found is None:
        return file.dig.start
    hour, minute, second = map(int, found.groups())
    near = file.dig.start.astimezone(zone)
    days = [near + timedelta(days=days) for days in (-1, 0, 1)]
    stamps = [day.replace(hour=hour % 24, minute=minute % 60, second=second % 60) for day in days]
    return min(stamps, key=lambda stamp: abs(stamp - near))
