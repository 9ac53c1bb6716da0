"""`nestwatch season`: the tally of a year, in words, as tables, and as a page."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from nestwatch.commands.boundary import answer
from nestwatch.commands.file_options import file_options, read_file
from nestwatch.commands.options import nights_option, site_argument
from nestwatch.commands.record_context import as_json_text, json_option, opened
from nestwatch.season.tally import WEATHER

if TYPE_CHECKING:
    from nestwatch.season.open import Record
    from nestwatch.season.tally.records import Season
    from nestwatch.season.tally.weather import WeatherLog
    from nestwatch.site.records import Site


@click.command()
@site_argument
@click.option(
    "--year",
    type=click.IntRange(2000, 2999),
    metavar="YEAR",
    help="The year in which the nesting season began. Default: that of the latest night.",
)
@click.option(
    "--weather",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help=f"Date, time, temperature and rain (CSV or other text). Default: {WEATHER} beside the site file.",
)
@click.option("--rain-column", metavar="NAME", help="Heading or number of the rain column.")
@click.option("--rain-unit", type=click.Choice(["mm", "in"]), help="Of the rain: millimetres or inches.")
@file_options
@click.option(
    "--csv",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="Write the tables into this folder, a CSV file each.",
)
@click.option(
    "--page",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Where the page with charts and maps goes. Default: season-YEAR.html beside the site file.",
)
@click.option("--no-page", is_flag=True, help="Write no page.")
@click.option("--replace", is_flag=True, help="With --csv: write over the tables of an earlier tally.")
@json_option
@nights_option
def season(
    site_file: Path,
    year: int | None,
    weather: Path | None,
    folder: Path | None,
    page: Path | None,
    no_page: bool,
    replace: bool,
    as_json: bool,
    out: Path | None,
    **choices: Any,
) -> None:
    """Tally a year: attempts, nests, eggs, hatching, and nights seen.

    Counts stand beside the nights and hours that were seen: an unseen night is never taken for one without
    a nest. By female, pen, zone, hour and week, and by weather where you have it; which female is due; which
    nests nestwatch missed here, and which of its calls were false (docs/season.md).

    The options from --rain-column to --column settle what the weather file does not tell itself.
    """
    from nestwatch.commands.season_words import season_text
    from nestwatch.season.tally.season import season_of
    from nestwatch.season.tally.tables import write_tables

    if replace and folder is None:
        raise click.UsageError("--replace goes with --csv.")
    if no_page and page is not None:
        raise click.UsageError("give either --page or --no-page.")
    with opened(site_file, out) as (site, record):
        log = _weather(record, site, weather, choices)
        found = season_of(record, site, year, weather=log)
        answer(as_json_text(found, record.zone) if as_json else season_text(found))
        if folder is not None:
            rows = write_tables(found, folder, record.zone, replace=replace)
            click.echo(f"{len(rows)} tables: {folder}", err=True)
        if not no_page:
            _write_page(record, found, site, page)


def _write_page(record: Record, season: Season, site: Site, page: Path | None) -> None:
    from nestwatch.report.files import write_bytes
    from nestwatch.season.fit.state import fit_state
    from nestwatch.season.tally.page.fitted import fitted
    from nestwatch.season.tally.page.whole import season_page

    fit = fitted(fit_state(record), record.zone)
    target = page or site.path.parent / f"season-{season.year}.html"
    write_bytes(target, season_page(season, site, fit=fit).encode())
    click.echo(f"Page: {target}", err=True)


def _weather(record: Record, site: Site, file: Path | None, choices: dict[str, Any]) -> WeatherLog | None:
    from nestwatch.season.incubation.logger.records import Choices
    from nestwatch.season.tally.weather import WeatherChoices, read_weather

    beside = site.path.parent / WEATHER
    file = file or (beside if beside.is_file() else None)
    if file is None:
        if any(value is not None for value in choices.values()):
            raise click.UsageError(f"there is no {WEATHER} beside the site file; give --weather FILE.")
        return None
    of_rain = {name: choices.pop(name) for name in ("rain_column", "rain_unit")}
    said = WeatherChoices(Choices(**choices), **of_rain)
    return read_file(file, lambda content: read_weather(content, record.zone, record.clock(), said))
