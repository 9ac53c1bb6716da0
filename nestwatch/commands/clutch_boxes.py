"""`nestwatch clutch container` and `place`: boxes, and the eggs in them."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from nestwatch.commands.boundary import answer
from nestwatch.commands.options import NightDate, site_argument
from nestwatch.commands.record_context import as_json_text, given, json_option, opened, sure_option

if TYPE_CHECKING:
    from nestwatch.season.incubation.records import Container
    from nestwatch.season.open import Record

box_argument = click.argument("label", metavar="BOX", help="The label of the box.")
at_option = click.option(
    "--at", metavar="TIME", help="When: 2026-06-13 07:30. Default: now.", default=None, type=str
)


@click.command()
@site_argument
@click.argument("label", metavar="[BOX]", required=False, help="The label of the box.")
@click.option("--new", is_flag=True, help="Enter a box that the record does not have yet.")
@click.option("--rename", metavar="LABEL", help="A new label.")
@click.option("--profile", metavar="NAME", help='Species profile; "" for that of the site\'s animal.')
@click.option("--medium", metavar="TEXT", help='What the eggs lie in; "" clears.')
@click.option("--dry", "dry_g", type=float, metavar="G", help="Grams of dry medium.")
@click.option("--water", "water_g", type=float, metavar="G", help="Grams of water in it.")
@click.option("--start", "start_g", type=float, metavar="G", help="Grams of the whole box when set up.")
@click.option("--incubator", metavar="NAME", help='The incubator it stands in; "" clears.')
@click.option("--shelf", metavar="TEXT", help='Where in it; "" clears.')
@click.option("--set-up", "set_up_at", metavar="TIME", help="When: 2026-06-13 07:30. Default: now.")
@click.option("--note", metavar="TEXT", help='Anything worth remembering; "" clears.')
@sure_option
@json_option
def container(
    site_file: Path,
    label: str | None,
    new: bool,
    rename: str | None,
    sure: bool,
    as_json: bool,
    **told: Any,
) -> None:
    """List the boxes, enter one, or change one."""
    from nestwatch.season.incubation.containers import add_container, change_container, container_called
    from nestwatch.season.incubation.containers import containers as all_of_them

    changes = given(**told, label=rename)
    if label is None and (changes or new):
        raise click.UsageError("say which box: nestwatch clutch container SITE BOX ...")
    with opened(site_file) as (site, record):
        if changes.get("set_up_at") is not None:
            changes["set_up_at"] = instant_of(record, changes["set_up_at"])
        if label is None:
            found = all_of_them(record)
        elif new:
            found = (add_container(record, site, changes.pop("label", label), changes, sure=sure),)  # type: ignore[arg-type]
        elif changes:
            found = (change_container(record, site, label, changes, sure=sure),)  # type: ignore[arg-type]
        else:
            found = (container_called(record, label),)
        _print(record, found, as_json)


@click.command()
@site_argument
@click.argument("night", metavar="NIGHT", type=NightDate(), help="The night of the clutch.")
@click.argument("dig", metavar="DIG", help="The dig's number or letter.")
@box_argument
@click.option("--eggs", "count", type=int, metavar="N", help="So many eggs, their places numbered on.")
@click.option("--at-place", "places", multiple=True, metavar="NAME", help="The place of an egg (repeatable).")
@click.option("--top-marked/--top-not-marked", default=None, help="Whether the tops are marked.")
@click.option("--move", metavar="BOX:PLACE", help="Move the egg of this clutch at BOX:PLACE instead.")
@at_option
@json_option
def place(
    site_file: Path,
    night: date,
    dig: str,
    label: str,
    count: int | None,
    places: tuple[str, ...],
    top_marked: bool | None,
    move: str | None,
    at: str | None,
    as_json: bool,
) -> None:
    """Put eggs of a clutch into a box, or move one there.

    Mark the top of each egg before you lift it, and never turn it.
    """
    from nestwatch.season.incubation.containers import container_called
    from nestwatch.season.incubation.eggs import eggs_in, put_eggs
    from nestwatch.season.incubation.telling import egg_words

    with opened(site_file) as (_, record):
        if move is not None:
            _move(record, move, label, places)
        else:
            if (count is None) == (not places):
                raise click.UsageError("say either how many (--eggs) or where (--at-place).")
            clutch = clutch_called(record, night, dig)
            when = None if at is None else instant_of(record, at)
            put_eggs(record, clutch, label, places or count or 0, top_marked=top_marked, at=when)
        found = eggs_in(record, container_called(record, label))
        if as_json:
            answer(as_json_text(found, record.zone))
            return
        lines = [egg_words(egg) for egg in found]
        answer("\n".join([f"Box {label}: {len(found)} eggs", *lines]))


def _move(record: Record, move: str, label: str, places: tuple[str, ...]) -> None:
    from nestwatch.season.incubation.containers import container_called
    from nestwatch.season.incubation.eggs import egg_at, move_egg

    source, _, position = move.rpartition(":")
    if not source or len(places) != 1:
        raise click.UsageError("to move an egg: --move BOX:PLACE --at-place NAME.")
    move_egg(record, egg_at(record, container_called(record, source), position), label, places[0])


def clutch_called(record: Record, night: date, dig: str) -> Any:
    """The clutch of a dig. Raises `EntryError` where it has none."""
    from nestwatch.errors import EntryError
    from nestwatch.season.clutches import clutch_of
    from nestwatch.season.digs import dig_called

    found = clutch_of(record, dig_called(record, night, dig).id)
    if found is None:
        raise EntryError(
            f"dig {dig} of {night} has no clutch; enter it first "
            f"(nestwatch clutch SITE {night} {dig} --whole N)."
        )
    return found


def instant_of(record: Record, text: str) -> Any:
    """A time as typed, in the site's own time."""
    from nestwatch.season.when import instant

    return instant(text, record.zone)


def _print(record: Record, found: tuple[Container, ...], as_json: bool) -> None:
    from nestwatch.season.incubation.containers import container_words

    if as_json:
        answer(as_json_text(found, record.zone))
    else:
        answer("\n".join(container_words(each) for each in found) or "No box was entered.")
