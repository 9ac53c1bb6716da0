"""`nestwatch export`: the season's record for spreadsheets, and to pass on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from nestwatch.commands.boundary import answer
from nestwatch.commands.options import site_argument
from nestwatch.commands.record_context import opened

if TYPE_CHECKING:
    from nestwatch.season.export.write import Exported

FORMATS = ("csv", "ics", "camtrap-dp")


@click.command()
@site_argument
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="Folder for the export. Default: exports/DATE of today, beside the site file.",
)
@click.option(
    "--format",
    "formats",
    type=click.Choice(FORMATS),
    multiple=True,
    help="Only this: tables for a spreadsheet, a calendar, or a package to pass on. May be given again. "
    "Default: all three.",
)
@click.option("--year", type=click.IntRange(2000, 2999), metavar="YEAR", help="Only the nights of one year.")
@click.option("--bom", is_flag=True, help="Begin tables with a mark that older spreadsheet programs need.")
@click.option("--replace", is_flag=True, help="Write over the files of an earlier export.")
@click.option(
    "--exact-places", is_flag=True, help="Tell the site's place as the site file has it, and where nests are."
)
@click.option("--public-media", is_flag=True, help="Put pictures and clips of digs into the package.")
@click.option("--title", metavar="TEXT", help="What the package is called. Default: the site's name.")
@click.option("--contributor", metavar="NAME", help="Whose work the package is. Default: its title.")
@click.option("--scientific-name", metavar="NAME", help="The species, such as Emys orbicularis.")
@click.option("--data-licence", metavar="NAME", help="Who may use the data, such as CC-BY-4.0 or an address.")
@click.option("--media-licence", metavar="NAME", help="Who may use the pictures; goes with --data-licence.")
def export(
    site_file: Path,
    out: Path | None,
    formats: tuple[str, ...],
    year: int | None,
    bom: bool,
    replace: bool,
    **shared: Any,
) -> None:
    """Write the season's record as tables, a calendar, and a package.

    The tables are the keeper's own, with everything; the calendar has hatch windows, checks and when another
    clutch may come. The package (Camtrap DP 1.0.2) is for others: by default
    places are rounded, pictures stay here, and notes are left out (docs/export.md).
    """
    from nestwatch.season.export.sharing import Sharing
    from nestwatch.season.export.tables import read_season
    from nestwatch.season.export.write import write_calendar, write_csv, write_package

    sharing = Sharing(**shared)
    with opened(site_file) as (site, record):
        season = read_season(record, year)
        today = record.clock().astimezone(record.zone).date()
        folder = out or site_file.parent / "exports" / today.isoformat()
        for kind in formats or FORMATS:
            if kind == "csv":
                done = write_csv(record, season, folder / kind, bom=bom, replace=replace)
            elif kind == "ics":
                done = write_calendar(record, site, folder / kind, replace=replace)
            else:
                done = write_package(record, site, season, folder / kind, sharing, replace=replace)
            answer(exported_text(done))


def exported_text(done: Exported) -> str:
    """Where it is, what is in it, and what to know of it."""
    rows = ", ".join(f"{name} {count}" for name, count in done.rows.items())
    return "\n".join([f"{done.folder}: {rows}", *(f"  {note}" for note in done.notes)])
