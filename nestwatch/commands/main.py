"""The `nestwatch` command. It starts fast: whatever computes is imported by the command that needs it."""

from __future__ import annotations

import click

import nestwatch
from nestwatch.commands.boundary import Guarded
from nestwatch.commands.check import check
from nestwatch.commands.clutch_group import clutch
from nestwatch.commands.demo import demo
from nestwatch.commands.desk import desk
from nestwatch.commands.dig import dig
from nestwatch.commands.export import export
from nestwatch.commands.female import female
from nestwatch.commands.find import find
from nestwatch.commands.fit import fit
from nestwatch.commands.marking import marking
from nestwatch.commands.night import night
from nestwatch.commands.outline import outline
from nestwatch.commands.record import record
from nestwatch.commands.schedule import schedule
from nestwatch.commands.season import season
from nestwatch.commands.undo import undo
from nestwatch.commands.watched import watched

__all__ = ["main"]


@click.group(cls=Guarded, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(nestwatch.__version__, prog_name="nestwatch", message="%(prog)s %(version)s")
def main() -> None:
    """Find where turtles dug last night, from the recordings of fixed infrared cameras.

    Start with: nestwatch demo. For your own footage, begin with nestwatch outline site.toml --new, try it
    with nestwatch check site.toml, and then run nestwatch night site.toml every morning.
    """


for command in (
    night,
    desk,
    marking,
    outline,
    check,
    demo,
    find,
    dig,
    clutch,
    female,
    watched,
    undo,
    record,
    fit,
    season,
    export,
    schedule,
):
    main.add_command(command)
