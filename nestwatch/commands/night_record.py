"""What `nestwatch night` has to do with the season's record: nests to watch over, and entering the night.

A record in trouble never stops a night: it is said, and the night is taken in later.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nestwatch.errors import RecordError

if TYPE_CHECKING:
    from nestwatch.site.records import Site
    from nestwatch.whole_night import KnownNest


def known_nests(site: Site, night: date) -> list[KnownNest]:
    """Nests of earlier nights whose eggs are still in the ground; none where there is no record (yet)."""
    from nestwatch.season.night_view import nests_in_ground
    from nestwatch.season.open import open_record, record_path
    from nestwatch.whole_night import KnownNest

    if not record_path(site).is_file():
        return []
    try:
        with open_record(site) as record:
            return [KnownNest(each.name, each.pen, each.plan_m) for each in nests_in_ground(record, night)]
    except RecordError as error:
        click.echo(f"Nests of earlier nights are not watched over: {error}", err=True)
        return []


def enter_nights(site: Site, out: Path | None) -> None:
    """Take finished nights into the record; what changed is said on stderr.

    Nights in a folder of their own (`out`) are entered only where the site has a record already: they may be
    a trial, and the site's folder one that cannot be written to.
    """
    from nestwatch.commands.record_context import news
    from nestwatch.season.open import open_record, record_path

    if out is not None and not record_path(site).is_file():
        return
    try:
        with open_record(site) as record:
            for line in (*record.notes, *news(record, site, out or site.path.parent / "nights")):
                click.echo(line, err=True)
    except RecordError as error:
        click.echo(f"The night is done, but not in the season's record yet: {error}", err=True)
