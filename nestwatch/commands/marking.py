"""`nestwatch marking`: the sheets that say where to put the stake this morning."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from nestwatch.commands.boundary import answer, log_beside
from nestwatch.commands.options import night_argument, nights_option, site_argument

if TYPE_CHECKING:
    from nestwatch.report.marking import Marked
    from nestwatch.site.records import Site


@click.command()
@site_argument
@night_argument("DATE")
@click.option(
    "--dig",
    "ranks",
    type=click.IntRange(min=1),
    multiple=True,
    metavar="N",
    help="Only the dig with this number, a rest too; may be given several times. Default: all but rests.",
)
@click.option("--rests", is_flag=True, help="Make sheets for rests as well.")
@click.option(
    "--paper",
    type=click.Choice(["a4", "letter"], case_sensitive=False),
    help="The paper to print on. Default: a4 for a metric site, letter for an imperial one.",
)
@nights_option
def marking(
    site_file: Path, night: date, ranks: tuple[int, ...], rests: bool, paper: str | None, out: Path | None
) -> None:
    """Write one sheet a dig: where to put the stake, and what to do there.

    Reads the night file of an earlier nestwatch night. Writes marking.pdf to print (at 100 %: a bar of 100 mm
    proves the scale) and marking.html for the phone into the night's folder.
    """
    from nestwatch.report.marking import chosen_digs, read_night, write_marking
    from nestwatch.site import load_site

    site = load_site(site_file)
    folder = (out or site_file.parent / "nights") / night.isoformat()
    log_beside(folder)
    document = read_night(folder)
    digs = chosen_digs(document, ranks, rests=rests)
    if not digs:
        answer("\n".join(_nothing(site, document, night)))
        return
    size = paper or ("letter" if site.units == "imperial" else "a4")
    marked = write_marking(site, document, digs, folder, paper=size, name=_name(ranks))  # type: ignore[arg-type]
    answer("\n".join(_told(marked, size)))


def _name(ranks: Sequence[int]) -> str:
    """Sheets of some digs do not replace those of all."""
    return "-".join(["marking", *(str(rank) for rank in sorted(set(ranks)))])


def _nothing(site: Site, document: dict[str, Any], night: date) -> Iterator[str]:
    """No dig: what was not seen comes first."""
    from nestwatch.report.summary import not_seen_line
    from nestwatch.site import night_hours

    yield not_seen_line(site, night_hours(site, night), document)
    rests = len(document["digs"])
    listed = (
        f" {rests} rest{'s are' if rests > 1 else ' is'} listed: add --rests for sheets." if rests else ""
    )
    yield f"No sheet was made: no likely dig in what was seen.{listed}"


def _told(marked: Marked, size: str) -> Iterator[str]:
    for sheet in marked.sheets:
        tapes = " and ".join(f"{line.length} {line.how}" for line in sheet.tape)
        yield f"{sheet.rank}. {sheet.title}: {tapes or sheet.no_distance or sheet.wall}"
    pages = "1 page" if len(marked.sheets) == 1 else f"{len(marked.sheets)} pages"
    shown = {"a4": "A4", "letter": "Letter"}[size]
    yield f"To print at 100 % ({pages}, {shown}): {marked.pdf}"
    yield f"For the phone: {marked.page}"
