"""Options that settle what a text file of readings does not tell itself, and reading such a file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

F = TypeVar("F", bound=Callable[..., Any])
Read = TypeVar("Read")

_OPTIONS = (
    click.option("--unit", type=click.Choice(["c", "f"]), help="Of the temperatures: °C or °F."),
    click.option(
        "--order",
        type=click.Choice(["day-first", "month-first", "year-first"]),
        help="Of the file's dates.",
    ),
    click.option("--decimal", type=click.Choice(["point", "comma"]), help="Of the file's numbers."),
    click.option("--clock", metavar="CLOCK", help="The file's: local, utc, or an offset such as +01:00."),
    click.option("--column", metavar="NAME", help="Heading or number of the temperature column."),
)


def file_options(command: F) -> F:
    """`--unit`, `--order`, `--decimal`, `--clock`, `--column`, as `logger.records.Choices` names them."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def read_file(file: Path, read: Callable[[bytes], Read]) -> Read:
    """What `read` makes of a file's bytes. Raises `EntryError`, whose message begins with the file's name."""
    from nestwatch.errors import EntryError

    try:
        content = file.read_bytes()
    except OSError as error:
        raise EntryError(f"{file} cannot be read ({error.strerror}); check its name.") from error
    try:
        return read(content)
    except EntryError as error:
        raise EntryError(f"{file.name}: {error}") from error
