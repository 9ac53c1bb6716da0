"""What commands on the record share: opening it, options, and JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, is_dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import click

from nestwatch.commands.boundary import log_beside

if TYPE_CHECKING:
    from nestwatch.season.open import Record
    from nestwatch.site.records import Site

dig_argument = click.argument(
    "label", metavar="[DIG]", required=False, help="The dig's number on the night's page, or its letter."
)
sure_option = click.option("--sure", is_flag=True, help="Take an entry that is very unlikely.")
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON instead of words.")


def now() -> datetime:
    """The time now (tests set it)."""
    return datetime.now(UTC)


@contextmanager
def opened(site_file: Path, out: Path | None = None) -> Iterator[tuple[Site, Record]]:
    """The site and its open record, with every night of the folder taken in; remarks go to stderr."""
    from nestwatch.season.clock import clock_of
    from nestwatch.season.open import open_record
    from nestwatch.site import load_site

    site = load_site(site_file)
    log_beside(site_file.parent)
    with open_record(site, clock=clock_of(site, lambda: now())) as record:
        for line in (*record.notes, *news(record, site, out or site_file.parent / "nights")):
            click.echo(line, err=True)
        yield site, record


def news(record: Record, site: Site, nights: Path) -> Iterator[str]:
    """Take in what was scanned since; yields what changed, and what could not be taken in.

    A record that cannot be written to can still be read: that is said, and nothing raised.
    """
    from nestwatch.errors import RecordError
    from nestwatch.season.changes import change_lines
    from nestwatch.season.nights import catch_up

    try:
        caught = catch_up(record, site, nights)
    except RecordError as error:
        yield f"Nights scanned since cannot be taken into the record: {error}"
        return
    for changes in caught.changes:
        yield from change_lines(changes)
    yield from (f"Not taken into the record: {line}" for line in caught.troubles)


def as_json_text(value: Any, zone: ZoneInfo) -> str:
    """Records as indented JSON; instants are local with their offset, None is null."""
    return json.dumps(_plain(value, zone), indent=1, ensure_ascii=False, allow_nan=False)


def _plain(value: Any, zone: ZoneInfo) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(zone).isoformat(timespec="seconds")
    if isinstance(value, date):
        return value.isoformat()
    if is_dataclass(value) and not isinstance(value, type):
        return _plain(asdict(value), zone)
    if isinstance(value, Mapping):
        return {key: _plain(each, zone) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(each, zone) for each in value]
    return value


def given(**values: Any) -> dict[str, Any]:
    """Options that were typed, the others left out; an empty text takes a value away (None)."""
    return {name: None if value == "" else value for name, value in values.items() if value is not None}


class Place(click.ParamType[tuple[float, float]]):
    """Two numbers with a comma between them."""

    name = "X,Y"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, float]:
        """Text to two numbers; a usage error otherwise."""
        if isinstance(value, tuple):
            return value
        try:
            x, y = (float(part) for part in value.split(","))
        except ValueError:
            self.fail(f'"{value}" is no place; write two numbers, such as 531,424.', param, ctx)
        return x, y
