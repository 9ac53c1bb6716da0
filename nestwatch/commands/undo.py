"""`nestwatch undo`: take an entry back."""

from __future__ import annotations

from pathlib import Path

import click

from nestwatch.commands.boundary import answer
from nestwatch.commands.options import site_argument
from nestwatch.commands.record_context import as_json_text, json_option, opened


@click.command()
@site_argument
@click.option(
    "--entry", type=click.IntRange(min=1), metavar="N", help="The entry with this number (see --list)."
)
@click.option("--list", "listed", is_flag=True, help="Show the last 20 entries and change nothing.")
@json_option
def undo(site_file: Path, entry: int | None, listed: bool, as_json: bool) -> None:
    """Take back the last entry, or the one with a number.

    Nothing is lost: taking back is an entry too, and can be taken back by its number.
    """
    from nestwatch.commands.record_words import action_line
    from nestwatch.season import journal

    with opened(site_file) as (_, record):
        if not listed:
            taken = journal.undo(record, entry)
            answer(as_json_text(taken, record.zone) if as_json else f"Taken back: {taken.words}")
            return
        found = journal.actions(record)
        lines = [action_line(each, record.zone) for each in found]
        answer(
            as_json_text(found, record.zone) if as_json else "\n".join(lines) or "Nothing was entered yet."
        )
