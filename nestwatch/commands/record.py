"""`nestwatch record`: the state of the record, and going back to a copy of it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nestwatch.commands import record_context
from nestwatch.commands.boundary import answer, log_beside
from nestwatch.commands.options import site_argument
from nestwatch.commands.record_context import opened

if TYPE_CHECKING:
    from nestwatch.season.open import Record
    from nestwatch.site.records import Site


@click.command()
@site_argument
@click.option(
    "--restore", metavar="COPY", help="Go on with this copy out of record-backups; the file is set aside."
)
def record(site_file: Path, restore: str | None) -> None:
    """Show what the season's record holds, or go back to a copy of it."""
    if restore is not None:
        answer("\n".join(_restored(site_file, restore)))
        return
    with opened(site_file) as (_, opened_record):
        answer("\n".join(_state(opened_record)))


def _state(opened_record: Record) -> Iterator[str]:
    from nestwatch.season.backups import backups

    counts = opened_record.row(
        "SELECT (SELECT count(*) FROM night) AS nights, (SELECT count(*) FROM dig) AS digs, "
        "(SELECT count(*) FROM find) AS finds, (SELECT count(*) FROM clutch) AS clutches, "
        "(SELECT count(*) FROM female) AS females"
    )
    assert counts is not None
    yield f"{opened_record.path}: sound"
    yield ", ".join(f"{name} {counts[name]}" for name in ("nights", "digs", "finds", "clutches", "females"))
    copies = [copy.name for copy in backups(opened_record.path)]
    yield f"Copies, the newest first: {', '.join(copies)}" if copies else "No copy was made yet."


def _restored(site_file: Path, name: str) -> Iterator[str]:
    from nestwatch.season.backups import FOLDER, backups, restore
    from nestwatch.season.open import record_path
    from nestwatch.site import load_site

    site: Site = load_site(site_file)
    log_beside(site_file.parent)
    path = record_path(site)
    copy = next((each for each in backups(path) if each.name == name), None)
    if copy is None:
        held = ", ".join(each.name for each in backups(path)) or "none"
        raise click.BadParameter(f'{FOLDER} holds no copy "{name}"; it holds {held}.', param_hint="--restore")
    aside = restore(path, copy, record_context.now())
    yield f"The record is now {copy.name}."
    if aside is not None:
        yield f"The file before it was kept as {aside}."
