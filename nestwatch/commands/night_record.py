"""What `nestwatch night` has to do with the season's record.

Nests to watch over, the likelihood fitted to the site's finds, and entering the night.

A record in trouble never stops a night: it is said, and the night is taken in later.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from nestwatch.errors import RecordError

if TYPE_CHECKING:
    from nestwatch.nesting.scale import SiteFit
    from nestwatch.season.open import Record
    from nestwatch.site.records import Site
    from nestwatch.whole_night import KnownNest

T = TypeVar("T")


def known_nests(site: Site, night: date) -> list[KnownNest]:
    """Nests of earlier nights whose eggs are still in the ground; none where there is no record (yet)."""
    from nestwatch.season.night_view import nests_in_ground
    from nestwatch.whole_night import KnownNest

    def nests(record: Record) -> list[KnownNest]:
        return [KnownNest(each.name, each.pen, each.plan_m) for each in nests_in_ground(record, night)]

    return _of_record(site, nests, [], "Nests of earlier nights are not watched over")


def site_fit(site: Site) -> SiteFit | None:
    """The likelihood's fit to the site's finds, said on stderr where there is one; None: as built."""
    from nestwatch.season.fit import fits

    found = _of_record(site, fits.site_fit, None, "Likelihoods are as built, not fitted to your finds")
    if found is not None:
        told = f"Likelihoods are fitted to {found.finds} finds of this site (nestwatch fit SITE --show)."
        click.echo(told, err=True)
    return found


def _of_record(site: Site, ask: Callable[[Record], T], otherwise: T, trouble: str) -> T:
    """What the record answers; `otherwise` where there is none (yet), or where it is in trouble.

    `trouble`: what the trouble means, said on stderr before it.
    """
    from nestwatch.season.open import open_record, record_path

    if not record_path(site).is_file():
        return otherwise
    try:
        with open_record(site) as record:
            return ask(record)
    except RecordError as error:
        click.echo(f"{trouble}: {error}", err=True)
        return otherwise


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
