"""`nestwatch find`: what is still to be dug up, and what was found."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nestwatch.commands.boundary import answer
from nestwatch.commands.options import night_argument, nights_option, site_argument
from nestwatch.commands.record_context import (
    as_json_text,
    dig_argument,
    json_option,
    opened,
    sure_option,
)

if TYPE_CHECKING:
    from nestwatch.season.open import Record
    from nestwatch.season.records import Dig, Found
    from nestwatch.site.records import Site

FOUND = ("eggs", "empty", "not-yet", "set-aside")


@click.command()
@site_argument
@night_argument("[NIGHT]", required=False)
@dig_argument
@click.option(
    "--found",
    type=click.Choice(FOUND),
    help="What was found: eggs; nothing; not dug up yet; or set aside as not worth digging (say why).",
)
@click.option("--why", metavar="TEXT", help="Why it was set aside, or not dug yet.")
@click.option(
    "--eggs", type=int, metavar="N", help="How many eggs, all whole. Other states: nestwatch clutch."
)
@click.option("--history", is_flag=True, help="Every change of this dig's find and clutch.")
@sure_option
@json_option
@nights_option
def find(
    site_file: Path,
    night: date | None,
    label: str | None,
    found: Found | None,
    why: str | None,
    eggs: int | None,
    history: bool,
    sure: bool,
    as_json: bool,
    out: Path | None,
) -> None:
    """List the digs still to be settled, or enter what was found at one.

    Without NIGHT and DIG: every dig that waits, with the time since laying. With NIGHT: that night's digs.
    With both and --found: enters the find. A wrong entry is taken back with nestwatch undo.
    """
    if found is None and (why is not None or eggs is not None):
        raise click.UsageError("--why and --eggs go with --found.")
    if label is None and (found is not None or history):
        raise click.UsageError("say which dig: nestwatch find SITE NIGHT DIG --found ...")
    with opened(site_file, out) as (site, record):
        digs = _chosen(record, night, label)
        if found is not None:
            digs = (_entered(record, site, digs[0], found, why, eggs, sure),)
        if as_json:
            answer(as_json_text(digs, record.zone))
        elif history:
            answer("\n".join(_history(record, digs[0])))
        else:
            answer("\n".join(_told(record, site, night, label, digs)))


def _chosen(record: Record, night: date | None, label: str | None) -> tuple[Dig, ...]:
    from nestwatch.season.digs import dig_called, digs_of, open_digs, require_night

    if night is None:
        return open_digs(record)
    require_night(record, night)
    return digs_of(record, night) if label is None else (dig_called(record, night, label),)


def _entered(
    record: Record, site: Site, dig: Dig, found: Found, why: str | None, eggs: int | None, sure: bool
) -> Dig:
    from nestwatch.season.finds import enter_find
    from nestwatch.season.records import Eggs

    counted = None if eggs is None else Eggs(whole=eggs)
    return enter_find(record, site, dig, found, why=why, eggs=counted, sure=sure)


def _history(record: Record, dig: Dig) -> Iterator[str]:
    from nestwatch.commands.record_words import change_lines
    from nestwatch.season.females import females
    from nestwatch.season.journal import finds_history

    names = {each.id: each.name for each in females(record)}
    lines = list(change_lines(finds_history(record, dig.id), record.zone, names))
    yield (
        f"{dig.night} dig {dig.label}: {len(lines)} changes"
        if lines
        else (f"{dig.night} dig {dig.label}: no find was ever entered.")
    )
    yield from lines


def _told(
    record: Record, site: Site, night: date | None, label: str | None, digs: tuple[Dig, ...]
) -> Iterator[str]:
    from nestwatch.commands.record_words import clutch_line, dig_line, moved_line, night_lines
    from nestwatch.season.clutches import clutch_of
    from nestwatch.season.night_view import night_of

    if label is None:
        yield _heading(night, len(digs))
    whole = night_of(record, night) if night is not None and label is None else None
    if whole is not None:
        yield from night_lines(whole)
    for dig in digs:
        yield dig_line(dig, site, record.clock())
        if (moved := moved_line(dig)) is not None:
            yield f"  {moved}"
        if label is not None and (clutch := clutch_of(record, dig.id)) is not None:
            yield f"  clutch: {clutch_line(clutch, record.zone).partition(': ')[2]}"
    yield from _gone(record, site, digs)


def _heading(night: date | None, count: int) -> str:
    digs = f"{count} dig{'' if count == 1 else 's'}"
    if night is not None:
        return f"Night of {night}: {digs}."
    return f"Still to be settled: {digs}." if count else "Every dig of the record is settled."


def _gone(record: Record, site: Site, digs: tuple[Dig, ...]) -> Iterator[str]:
    """Nights whose folder is not there any more."""
    from nestwatch.season.nights import missing_folder

    for night in sorted({dig.night for dig in digs}):
        folder = missing_folder(record, site, night)
        if folder is not None:
            yield f"The folder of the night of {night} is gone ({folder}): no pictures, all entries are kept."
