"""`nestwatch watched`: nights that somebody watched by eye."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from nestwatch.commands.boundary import answer
from nestwatch.commands.options import night_argument, site_argument
from nestwatch.commands.record_context import as_json_text, json_option, opened


@click.command()
@site_argument
@night_argument("[NIGHT]", required=False)
@click.option("--from", "start", metavar="TIME", help="When watching began: 20:30, in the site's time.")
@click.option("--to", "end", metavar="TIME", help="When it ended: 00:30.")
@click.option("--pen", metavar="NAME", help="The pen. Default: all of them.")
@click.option("--by", "who", metavar="NAME", help="Who watched.")
@click.option("--note", metavar="TEXT", help="Anything worth remembering.")
@json_option
def watched(
    site_file: Path,
    night: date | None,
    start: str | None,
    end: str | None,
    pen: str | None,
    who: str | None,
    note: str | None,
    as_json: bool,
) -> None:
    """List what was watched by eye, or enter it.

    What was seen is entered with nestwatch dig SITE NIGHT --how eye.
    """
    from nestwatch.commands.record_words import watched_line
    from nestwatch.season.watched import add_watched, all_watched
    from nestwatch.season.when import instant

    if (night is None) != (start is None) or (night is None) != (end is None):
        raise click.UsageError("give the night with both times: nestwatch watched SITE NIGHT --from --to")
    with opened(site_file) as (site, record):
        if night is None or start is None or end is None:
            found = all_watched(record)
        else:
            times = (instant(text, record.zone, night) for text in (start, end))
            found = (add_watched(record, site, night, *times, pen=pen, who=who, note=note),)
        if as_json:
            answer(as_json_text(found, record.zone))
        else:
            lines = [watched_line(each, record.zone) for each in found]
            answer("\n".join(lines) or "No night watched by eye was entered.")
