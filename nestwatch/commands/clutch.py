"""`nestwatch clutch`: the eggs of a dig."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from nestwatch.commands.boundary import answer
from nestwatch.commands.options import night_argument, nights_option, site_argument
from nestwatch.commands.record_context import (
    as_json_text,
    dig_argument,
    given,
    json_option,
    opened,
    sure_option,
)

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from nestwatch.season.records import Clutch


@click.command()
@site_argument
@night_argument("[NIGHT]", required=False)
@dig_argument
@click.option("--female", metavar="NAME", help='Who laid it, by name or number; "" for not known.')
@click.option(
    "--laid", metavar="TIME", help='When, if not as the dig says: 22:10, or 2026-06-12 22:10; "" clears.'
)
@click.option(
    "--lifted", metavar="TIME", help='When the eggs were lifted: 07:30, or 2026-06-13 07:30; "" clears.'
)
@click.option("--whole", type=int, metavar="N", help="Eggs that are whole.")
@click.option("--dented", type=int, metavar="N", help="Eggs whose shell is turned in.")
@click.option("--cracked", type=int, metavar="N", help="Eggs with a crack from which nothing runs.")
@click.option("--broken", type=int, metavar="N", help="Eggs that run out.")
@click.option("--note", metavar="TEXT", help='Anything worth remembering; "" clears.')
@sure_option
@json_option
@nights_option
def clutch(
    site_file: Path,
    night: date | None,
    label: str | None,
    sure: bool,
    as_json: bool,
    out: Path | None,
    **told: Any,
) -> None:
    """List the clutches, or enter the eggs of one dig.

    With NIGHT and DIG and any of the options: enters them; the dig then counts as one with eggs.
    """
    from nestwatch.season.clutches import change_clutch, clutch_of, clutches
    from nestwatch.season.digs import dig_called

    changes = given(**told)
    if label is None and (changes or night is not None):
        raise click.UsageError("say which dig: nestwatch clutch SITE NIGHT DIG ...")
    with opened(site_file, out) as (site, record):
        if night is None or label is None:
            _print(clutches(record), record.zone, as_json)
            return
        chosen = dig_called(record, night, label)
        if changes:
            change_clutch(record, site, chosen, _typed(changes, record.zone, night), sure=sure)
        found = clutch_of(record, chosen.id)
        _print(() if found is None else (found,), record.zone, as_json)


def _typed(changes: dict[str, Any], zone: ZoneInfo, night: date) -> Any:
    """Options as changes: times as instants."""
    from nestwatch.season.when import instant

    for option in ("laid", "lifted"):
        if option in changes:
            text = changes.pop(option)
            changes[f"{option}_at"] = None if text is None else instant(text, zone, night)
    return changes


def _print(found: tuple[Clutch, ...], zone: ZoneInfo, as_json: bool) -> None:
    from nestwatch.commands.record_words import clutch_line

    if as_json:
        answer(as_json_text(found, zone))
    else:
        answer("\n".join(clutch_line(each, zone) for each in found) or "No clutch was entered.")
