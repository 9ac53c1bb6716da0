"""`nestwatch dig`: add a dig that no scan found."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from nestwatch.commands.boundary import answer
from nestwatch.commands.options import night_argument, nights_option, site_argument
from nestwatch.commands.record_context import (
    Place,
    as_json_text,
    json_option,
    opened,
    sure_option,
)

if TYPE_CHECKING:
    from nestwatch.season.by_hand import HandDig


@click.command()
@site_argument
@night_argument("NIGHT")
@click.option(
    "--how",
    "source",
    type=click.Choice(["footage", "eye", "found"]),
    required=True,
    help="How it is known: from footage where the scan missed it; by eye; or by its eggs.",
)
@click.option("--from", "start", metavar="TIME", required=True, help="When it began: 21:14.")
@click.option("--to", "end", metavar="TIME", required=True, help="When it ended: 23:10.")
@click.option("--camera", metavar="NAME", help="The camera whose footage shows it.")
@click.option("--pixel", type=Place(), metavar="X,Y", help="The egg chamber in that camera's picture.")
@click.option("--pen", metavar="NAME", help="The pen, where there are several.")
@click.option("--plan", "plan_m", type=Place(), metavar="X,Y", help="The egg chamber in metres on the plan.")
@click.option("--note", metavar="TEXT", help="Anything worth remembering.")
@sure_option
@json_option
@nights_option
def dig(
    site_file: Path,
    night: date,
    start: str,
    end: str,
    sure: bool,
    as_json: bool,
    out: Path | None,
    **told: Any,
) -> None:
    """Add a dig that no scan found; it is called by a letter.

    The night need not have been scanned: with a camera down, what was seen by eye makes the season whole.
    """
    from nestwatch.commands.record_words import dig_line
    from nestwatch.season.by_hand import add_dig

    with opened(site_file, out) as (site, record):
        added = add_dig(record, site, night, _hand_dig(record.zone, night, start, end, told), sure=sure)
        answer(as_json_text(added, record.zone) if as_json else dig_line(added, site, record.clock()))


def _hand_dig(zone: Any, night: date, start: str, end: str, told: dict[str, Any]) -> HandDig:
    from nestwatch.season.by_hand import HandDig
    from nestwatch.season.when import instant

    return HandDig(start=instant(start, zone, night), end=instant(end, zone, night), **told)
