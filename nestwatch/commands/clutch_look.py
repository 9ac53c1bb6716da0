"""`nestwatch clutch check` and `weigh`: what eggs showed, and the water of a box."""

from __future__ import annotations

from pathlib import Path

import click

from nestwatch.commands.boundary import answer
from nestwatch.commands.clutch_boxes import at_option, box_argument, instant_of
from nestwatch.commands.options import site_argument
from nestwatch.commands.record_context import as_json_text, json_option, opened, sure_option


@click.command()
@site_argument
@box_argument
@click.option(
    "--saw",
    type=click.Choice(["developing", "clear", "dead", "mould", "dented", "sweating", "pipped", "other"]),
    help="What was seen; clear: nothing in the light.",
)
@click.option("--egg", "positions", multiple=True, metavar="PLACE", help="Of this egg (repeatable).")
@at_option
@click.option("--note", metavar="TEXT", help="Anything worth remembering.")
@json_option
def check(
    site_file: Path,
    label: str,
    saw: str | None,
    positions: tuple[str, ...],
    at: str | None,
    note: str | None,
    as_json: bool,
) -> None:
    """List the checks of a box, or enter one: candling, a look.

    A loss is entered with nestwatch clutch hatch (--lost), so that it counts.
    """
    from nestwatch.season.incubation.checks import CAUTION, checks, enter_checks
    from nestwatch.season.incubation.containers import container_called
    from nestwatch.season.incubation.telling import check_words

    if saw is None and (positions or note):
        raise click.UsageError("say what was seen (--saw).")
    with opened(site_file) as (_, record):
        if saw is not None:
            when = None if at is None else instant_of(record, at)
            enter_checks(record, label, saw, positions=positions, at=when, note=note)  # type: ignore[arg-type]
        found = checks(record, container_called(record, label))
        if as_json:
            answer(as_json_text(found, record.zone))
            return
        lines = [check_words(each, record.zone) for each in found]
        answer("\n".join([*(lines or ["No check was entered."]), CAUTION]))


@click.command()
@site_argument
@box_argument
@click.argument("grams", metavar="[GRAMS]", type=float, required=False, help="The whole box, before water.")
@click.option("--added", "added_g", type=float, metavar="G", help="Grams of water added then.")
@at_option
@sure_option
@json_option
def weigh(
    site_file: Path,
    label: str,
    grams: float | None,
    added_g: float | None,
    at: str | None,
    sure: bool,
    as_json: bool,
) -> None:
    """List a box's weighings, or enter one; tells how much water is missing."""
    from nestwatch.season.incubation.checks import enter_weighing, weighings
    from nestwatch.season.incubation.containers import container_called
    from nestwatch.season.incubation.telling import water_words, weighing_words

    if grams is None and added_g is not None:
        raise click.UsageError("weigh the box before adding water, and give its grams.")
    with opened(site_file) as (_, record):
        if grams is not None:
            when = None if at is None else instant_of(record, at)
            enter_weighing(record, label, grams, added_g=added_g, at=when, sure=sure)
        box = container_called(record, label)
        found = weighings(record, box)
        if as_json:
            answer(as_json_text(found, record.zone))
            return
        lines = [weighing_words(each, record.zone) for each in found]
        missing = water_words(box, found)
        lines += [] if missing is None else [missing]
        answer("\n".join(lines) or "No weighing was entered.")
