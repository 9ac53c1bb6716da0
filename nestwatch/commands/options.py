"""Arguments and options that several commands share."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import Any

import click

site_argument = click.argument(
    "site_file", metavar="SITE", type=click.Path(path_type=Path), help="The site file (docs/site-file.md)."
)
trust_option = click.option(
    "--trust-file-times",
    "trust_mtime",
    is_flag=True,
    help="Where neither name nor container tells when a recording started, believe the file's own time.",
)


class NightDate(click.ParamType[date]):
    """A date such as 2026-06-12."""

    name = "YYYY-MM-DD"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """Text to a date; a usage error otherwise."""
        if isinstance(value, date):
            return value
        try:
            return datetime.strptime(value, "%Y-%m-%d").date()  # noqa: DTZ007 - a calendar day has no zone
        except ValueError:
            self.fail(f'"{value}" is not a date; write year-month-day, such as 2026-06-12.', param, ctx)


date_option = click.option(
    "--date",
    "night",
    type=NightDate(),
    help="The night, named by the date of its evening. Default: the night that ended last.",
)
