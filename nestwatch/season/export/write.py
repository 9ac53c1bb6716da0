"""Writing an export: the keeper's own tables and calendar, or a package for others."""

from __future__ import annotations

import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from nestwatch.errors import RecordError
from nestwatch.report.files import replacing, write_together
from nestwatch.season.export import package
from nestwatch.season.export.deployments import deployments_table
from nestwatch.season.export.folder import clear_earlier, require_free
from nestwatch.season.export.media import MediaFile, media_files, media_table, path_of
from nestwatch.season.export.observations import observations_table
from nestwatch.season.export.places import SharedPlace, shared_place
from nestwatch.season.export.records import Table
from nestwatch.season.export.sharing import Sharing
from nestwatch.season.export.tables import Season
from nestwatch.season.export.text import csv_bytes
from nestwatch.season.incubation.calendar import calendar
from nestwatch.season.nights import real_path
from nestwatch.season.open import Record
from nestwatch.site.records import Site

CALENDAR = "nestwatch.ics"


@dataclass(frozen=True, slots=True)
class Exported:
    """What was written: `rows` by table, and `notes`, what the keeper should know of it."""

    folder: Path
    rows: Mapping[str, int]
    notes: tuple[str, ...]


def write_csv(
    record: Record, season: Season, folder: Path, *, bom: bool = False, replace: bool = False
) -> Exported:
    """Every table that has rows, for the keeper's own use: with notes, names and places on the plan.

    Raises `OutputError`, also where a file is there already; with `replace` the earlier export gives way.
    """
    tables = _filled(season.tables)
    contents = {package.file_of(table): csv_bytes(table, record.zone, bom=bom) for table in tables}
    require_free(folder, contents, replace=replace)
    write_together(folder, contents)
    clear_earlier(folder, [package.file_of(table) for table in season.tables], contents)
    return Exported(folder, _rows(tables), ())


def write_calendar(record: Record, site: Site, folder: Path, *, replace: bool = False) -> Exported:
    """Hatch windows, checks and second clutches as iCalendar (RFC 5545), UIDs as in every earlier export.

    Without an event nothing is written: a calendar must hold one. Raises `OutputError`, also where a file is
    there already, and `EntryError` for a profile file that is wrong.
    """
    content = calendar(record, site)
    events = content.count(b"BEGIN:VEVENT")
    if not events:
        clear_earlier(folder, [CALENDAR] if replace else [], [])
        return Exported(folder, {"events": 0}, ("Nothing is to be expected: no calendar is written.",))
    require_free(folder, {CALENDAR: content}, replace=replace)
    write_together(folder, {CALENDAR: content})
    return Exported(folder, {"events": events}, ())


def write_package(
    record: Record, site: Site, season: Season, folder: Path, sharing: Sharing, *, replace: bool = False
) -> Exported:
    """A Camtrap DP 1.0.2 package for others.

    Raises `OutputError`, also where a file is there already (with `replace` the earlier export gives way),
    and `RecordError` where no camera recorded anything: such a package has no deployment.
    """
    place = shared_place(site.latitude, site.longitude, exact=sharing.exact_places)
    files, gone = media_files(season.nights, _folders(site, season))
    standard = _standard(record, site, season, files, place, sharing)
    further = tuple(table.without(sharing.withheld) for table in _filled(season.tables))
    described = package.descriptor(
        site, sharing, place, standard, further, created=record.clock(), zone=record.zone
    )
    contents = {
        package.file_of(table): csv_bytes(table, record.zone, for_spreadsheets=False)
        for table in (*standard, *further)
    }
    contents[package.NAME] = package.encode(described)
    require_free(folder, contents, replace=replace)
    public = _copied(site, files, standard[1], folder) if sharing.public_media else []
    write_together(folder, contents)
    clear_earlier(folder, [package.file_of(table) for table in season.tables], [*contents, *public])
    notes = _notes(sharing, place, season, standard, gone)
    return Exported(folder, _rows((*standard, *further)), tuple(notes))


def _standard(
    record: Record,
    site: Site,
    season: Season,
    files: Sequence[MediaFile],
    place: SharedPlace,
    sharing: Sharing,
) -> tuple[Table, Table, Table]:
    """Deployments, media, observations."""
    deployments = deployments_table(site, season.nights, place)
    if not deployments.rows:
        raise RecordError(
            "no camera recorded anything in these nights, and a Camtrap DP package is about recordings; "
            "export tables only, with --format csv."
        )
    media = media_table(files, deployments, record.zone, public=sharing.public_media)
    species = sharing.scientific_name
    return deployments, media, observations_table(season.nights, season.clutches, deployments, species)


def _copied(site: Site, files: Sequence[MediaFile], media: Table, folder: Path) -> list[str]:
    """Copy the files of the table into the package; returns their paths in it."""
    listed = {row["filePath"] for row in media.rows}
    found = [(file, path) for file in files if (path := path_of(file, public=True)) in listed]
    for file, path in found:
        with replacing(folder / path) as temporary:
            shutil.copyfile(_folder(site, file) / file.inside, temporary)
    return [path for _, path in found]


def _folder(site: Site, file: MediaFile) -> Path:
    return real_path(file.night.folder or "", site)


def _folders(site: Site, season: Season) -> dict[str, Path]:
    return {
        night.date.isoformat(): real_path(night.folder, site)
        for night in season.nights
        if night.folder is not None
    }


def _filled(tables: Sequence[Table]) -> tuple[Table, ...]:
    return tuple(table for table in tables if table.rows)


def _rows(tables: Sequence[Table]) -> dict[str, int]:
    return {table.name: len(table.rows) for table in tables}


def _notes(
    sharing: Sharing, place: SharedPlace, season: Season, standard: Sequence[Table], gone: int
) -> list[str]:
    """What was held back, what is missing, and what is still to be decided."""
    digs = sum(len(night.digs) for night in season.nights)
    unseen = digs - len(standard[2].rows)
    notes = [_place_note(sharing, place), _media_note(sharing)]
    if unseen:
        notes.append(f"Digs that are no camera's observation, and so in digs.csv only: {unseen} of {digs}.")
    if gone:
        notes.append(f"Pictures and clips left out, since they are not in their folder any more: {gone}.")
    if sharing.data_licence is None:
        notes.append("No licence is named, so nobody may use it further (--data-licence, --media-licence).")
    if sharing.scientific_name is None:
        notes.append('No species is named (--scientific-name "Genus species").')
    return notes


def _place_note(sharing: Sharing, place: SharedPlace) -> str:
    within = f"{place.within_m / 1000:.1f} km" if place.within_m >= 1000 else f"{place.within_m} m"
    if sharing.exact_places:
        return f"EXACT places: the site to within {within}, and where in the pen the nests are."
    return (
        f"The site's place is told to within {within} only, and not where in the pen the nests are; notes "
        "are left out, names of the site, pens and cameras are not (--title changes the first)."
    )


def _media_note(sharing: Sharing) -> str:
    if sharing.public_media:
        return "Pictures and clips are in the package, for everybody who gets it."
    return "Pictures and clips stay here; their names are listed as not public."
