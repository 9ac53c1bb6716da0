"""`nestwatch clutch hatch` and `hatchling`: what became of eggs, and the head start."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from nestwatch.commands.boundary import answer
from nestwatch.commands.clutch_boxes import at_option, box_argument, instant_of
from nestwatch.commands.options import NightDate, site_argument
from nestwatch.commands.record_context import as_json_text, given, json_option, opened, sure_option

if TYPE_CHECKING:
    from nestwatch.season.open import Record

_COUNTS = ("alive", "dead-in-shell", "infertile", "lost")


@click.command()
@site_argument
@box_argument
@click.option("--egg", "position", metavar="PLACE", help="One egg, by its place.")
@click.option("--outcome", type=click.Choice(_COUNTS), help="What became of that egg.")
@click.option("--mass", "mass_g", type=float, metavar="G", help="The hatchling's grams.")
@click.option("--shell", "shell_mm", type=float, metavar="MM", help="Its shell's length in millimetres.")
@click.option("--name", metavar="NAME", help="The hatchling's name or number.")
@click.option("--left", "left_at", metavar="TIME", help="When it left the incubator, its yolk absorbed.")
@click.option("--note", metavar="TEXT", help='Anything worth remembering; "" clears.')
@click.option("--alive", type=int, metavar="N", help="Without --egg: so many hatched alive.")
@click.option("--dead-in-shell", type=int, metavar="N", help="So many were dead in the shell.")
@click.option("--infertile", type=int, metavar="N", help="So many were infertile.")
@click.option("--lost", type=int, metavar="N", help="So many were lost before.")
@click.option("--night", type=NightDate(), metavar="NIGHT", help="Of the clutch laid in this night.")
@at_option
@sure_option
@json_option
def hatch(
    site_file: Path,
    label: str,
    position: str | None,
    at: str | None,
    night: date | None,
    sure: bool,
    as_json: bool,
    alive: int | None,
    dead_in_shell: int | None,
    infertile: int | None,
    lost: int | None,
    **told: Any,
) -> None:
    """List what became of a box's eggs, or enter it: egg by egg, or counted.

    Hatchlings stay about a week in the incubator, until the yolk is absorbed (--left says when they went).
    """
    from nestwatch.season.incubation.containers import container_called
    from nestwatch.season.incubation.hatchings import hatchings
    from nestwatch.season.incubation.telling import hatching_words

    counts = list(zip(_COUNTS, (alive, dead_in_shell, infertile, lost), strict=True))
    counted = [(outcome, number) for outcome, number in counts if number is not None]
    changes = given(**told)
    if position is None and changes:
        raise click.UsageError("say which egg (--egg PLACE).")
    if position is not None and counted:
        raise click.UsageError("give either one egg (--egg) or counts (--alive, ...).")
    with opened(site_file) as (_, record):
        if position is not None:
            _one(record, label, position, changes, at, sure)
        elif counted:
            _many(record, label, counted, at, night, sure)
        found = hatchings(record, container_called(record, label))
        lines = [hatching_words(each, record.zone) for each in found]
        text = "\n".join(lines) or "Nothing has become of these eggs yet."
        answer(as_json_text(found, record.zone) if as_json else text)


def _one(
    record: Record, label: str, position: str, changes: dict[str, Any], at: str | None, sure: bool
) -> None:
    from nestwatch.season.incubation.hatchings import settle_egg

    if at is not None:
        changes["at"] = instant_of(record, at)
    if changes.get("left_at") is not None:
        changes["left_at"] = instant_of(record, changes["left_at"])
    settle_egg(record, label, position, changes, sure=sure)  # type: ignore[arg-type]


def _many(
    record: Record, label: str, counts: list[tuple[Any, int]], at: str | None, night: date | None, sure: bool
) -> None:
    from nestwatch.season.incubation.hatchings import settle_many

    when = None if at is None else instant_of(record, at)
    settle_many(record, label, counts, at=when, night=night, sure=sure)


@click.command()
@site_argument
@click.argument("name", metavar="NAME", help="The hatchling's name or number.")
@click.option("--mass", "mass_g", type=float, metavar="G", help="Its grams.")
@click.option("--shell", "shell_mm", type=float, metavar="MM", help="Its shell's length in millimetres.")
@click.option("--note", metavar="TEXT", help="Anything worth remembering.")
@at_option
@sure_option
@json_option
def hatchling(site_file: Path, name: str, at: str | None, sure: bool, as_json: bool, **told: Any) -> None:
    """List a hatchling's measurements in its head start, or enter one."""
    from nestwatch.season.incubation.growth import enter_growth, growth_of
    from nestwatch.season.incubation.telling import growth_words

    measured = given(**told)
    with opened(site_file) as (_, record):
        if measured:
            when = None if at is None else instant_of(record, at)
            enter_growth(record, name, at=when, sure=sure, **measured)
        found = growth_of(record, name)
        lines = [growth_words(each, record.zone) for each in found]
        answer(as_json_text(found, record.zone) if as_json else "\n".join(lines) or "Not measured yet.")
