"""Arguments and options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any, TypeVar

import click

F = TypeVar("F", bound=Callable[..., Any])

site_argument = click.argument(
    "site_file", metavar="SITE", type=click.Path(path_type=Path), help="The site file (docs/site-file.md)."
)
trust_option = click.option(
    "--trust-file-times",
    "trust_mtime",
    is_flag=True,
    help="Where neither name nor container tells when a recording started, believe the file's own time.",
)

nights_option = click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="The folder of nights that nestwatch night wrote to. Default: nights, beside the site file.",
)
no_browser_option = click.option(
    "--no-browser", is_flag=True, help="Only print the page's address; open it yourself."
)
port_option = click.option(
    "--port",
    type=click.IntRange(1024, 65535),
    metavar="N",
    help="Use this port of this computer. Default: a free one.",
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


def night_argument(metavar: str, *, required: bool = True) -> Callable[[F], F]:
    """The night as an argument; `metavar` is what the help calls it."""
    return click.argument(
        "night",
        metavar=metavar,
        required=required,
        type=NightDate(),
        help="The night, named by the date of its evening (2026-06-12).",
    )


date_option = click.option(
    "--date",
    "night",
    type=NightDate(),
    help="The night, named by the date of its evening. Default: the night that ended last.",
)
