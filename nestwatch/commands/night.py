"""`nestwatch night`: watch one night and print what a keeper reads first."""

from __future__ import annotations

from contextlib import nullcontext
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nestwatch.commands.boundary import PARTIAL, UNTOLD, answer, log_beside
from nestwatch.commands.night_notify import failure_told, tell_result
from nestwatch.commands.night_record import enter_nights, known_nests, site_fit
from nestwatch.commands.options import date_option, site_argument, trust_option
from nestwatch.commands.progress import Watcher

if TYPE_CHECKING:
    from nestwatch.night import NightResult
    from nestwatch.site.records import Site


@click.command()
@site_argument
@date_option
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="Folder for the results, one folder in it for each night. Default: nights, beside the site file.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the night file instead of a summary.")
@trust_option
@click.option(
    "--workers",
    type=click.IntRange(min=1),
    metavar="N",
    help="How many cameras are watched at the same time. Default: one for each processor core.",
)
@click.option("--fresh", is_flag=True, help="Watch every camera anew, even those finished by an earlier run.")
@click.option(
    "--notify",
    is_flag=True,
    help="Send a short message about the night, as the table [notify] of the site file says.",
)
@click.pass_context
def night(
    ctx: click.Context,
    site_file: Path,
    night: date | None,
    out: Path | None,
    as_json: bool,
    trust_mtime: bool,
    workers: int | None,
    fresh: bool,
    notify: bool,
) -> None:
    """Watch one night's recordings and list where turtles probably dug.

    Prints what the cameras could not see, then each likely dig: when, where to put the stake, and how sure.
    The pictures are in index.html of the night's folder. Exit code 3 means that some footage could not be
    read, 4 that the message could not be sent; the results are kept either way.
    """
    from nestwatch.night import run_night
    from nestwatch.report import nightfile
    from nestwatch.site import load_site

    site = load_site(site_file)
    chosen = chosen_night(site, night)
    folder = out or site_file.parent / "nights"
    log_beside(folder)
    with failure_told(site, chosen) if notify else nullcontext(), Watcher() as watcher:
        result = run_night(
            site,
            chosen,
            folder,
            trust_mtime=trust_mtime,
            workers=workers,
            fresh=fresh,
            known_nests=known_nests(site, chosen),
            fit=site_fit(site),
            progress=watcher,
        )
    if as_json:
        answer(nightfile.encode(result.document))
    else:
        answer(night_text(result))
    enter_nights(site, out)
    if notify and not tell_result(site, result.document):
        ctx.exit(UNTOLD)
    if result.partial:
        ctx.exit(PARTIAL)


def chosen_night(site: Site, night: date | None) -> date:
    """The night asked for, by default the one that ended last. One that has not begun is a usage error."""
    from nestwatch.season.clock import clock_of
    from nestwatch.site import last_night, night_hours

    now = clock_of(site, lambda: datetime.now(UTC))()
    if night is None:
        return last_night(site, now)
    if night_hours(site, night).start > now:
        raise click.BadParameter(
            f"the night of {night} has not begun; nights are named by the date of their evening.",
            param_hint="--date",
        )
    return night


def night_text(result: NightResult) -> str:
    """The answer in words: the summary's lines, and where the rest lies."""
    return "\n".join([*result.summary, f"Pictures and all details: {result.folder / 'index.html'}"])
