"""`nestwatch female`: who lays."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from nestwatch.commands.boundary import answer
from nestwatch.commands.options import site_argument
from nestwatch.commands.record_context import as_json_text, given, json_option, opened, sure_option

if TYPE_CHECKING:
    from nestwatch.season.open import Record
    from nestwatch.season.records import Female
    from nestwatch.site.records import Site


@click.command()
@site_argument
@click.argument("name", metavar="[NAME]", required=False, help="Her name or number.")
@click.option("--new", is_flag=True, help="Enter a female that the record does not have yet.")
@click.option("--marks", metavar="TEXT", help='Notches or other marks, such as "left 2, right 9"; "" clears.')
@click.option("--shell-length", "shell_length_cm", type=float, metavar="CM", help="Length of her shell.")
@click.option(
    "--photograph",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="A picture of her; a copy goes into the site's folder.",
)
@click.option("--rename", metavar="NAME", help="A new name.")
@click.option("--note", metavar="TEXT", help='Anything worth remembering; "" clears.')
@sure_option
@json_option
def female(
    site_file: Path,
    name: str | None,
    new: bool,
    photograph: Path | None,
    rename: str | None,
    sure: bool,
    as_json: bool,
    **told: Any,
) -> None:
    """List the females, enter one, or change one."""
    from nestwatch.season.females import female_called, females

    changes = given(**told, name=rename)
    if name is None and (changes or new or photograph is not None):
        raise click.UsageError("say which female: nestwatch female SITE NAME ...")
    with opened(site_file) as (site, record):
        if name is not None:
            _enter(record, site, name, new, photograph, changes, sure)
        found = females(record) if name is None else (female_called(record, rename or name),)
        _print(found, record, as_json)


def _enter(
    record: Record,
    site: Site,
    name: str,
    new: bool,
    photograph: Path | None,
    changes: dict[str, Any],
    sure: bool,
) -> None:
    from nestwatch.season.females import add_female, change_female, female_called
    from nestwatch.season.photographs import keep_photograph

    if not new:
        name = female_called(record, name).name
    if photograph is not None:
        changes["photograph"] = keep_photograph(site, name, photograph)
    if new:
        add_female(record, site, changes.pop("name", name), changes, sure=sure)  # type: ignore[arg-type]
    elif changes:
        change_female(record, site, name, changes, sure=sure)  # type: ignore[arg-type]


def _print(found: tuple[Female, ...], record: Record, as_json: bool) -> None:
    if as_json:
        answer(as_json_text(found, record.zone))
    else:
        answer("\n".join(_line(each) for each in found) or "No female was entered.")


def _line(female: Female) -> str:
    from nestwatch.season.females import female_words

    picture = f"; photograph {female.photograph}" if female.photograph else ""
    count = f"{female.clutches} clutch{'' if female.clutches == 1 else 'es'}"
    return f"{female_words(female)}; {count}{picture}"
