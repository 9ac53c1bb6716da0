"""`nestwatch clutch`: the eggs of a dig, and all that follows in incubation."""

from __future__ import annotations

import click

from nestwatch.commands.clutch import clutch as eggs
from nestwatch.commands.clutch_boxes import container, place
from nestwatch.commands.clutch_due import alerts, calendar, labels, profiles, window
from nestwatch.commands.clutch_hatch import hatch, hatchling
from nestwatch.commands.clutch_look import check, weigh
from nestwatch.commands.clutch_readings import probe, readings

_DEFAULT = "eggs"


class WithDefault(click.Group):
    """A group whose first argument may be a sub-command; else all of them go to `eggs`."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """`SITE ...` becomes `eggs SITE ...`."""
        if args and args[0] not in self.commands and args[0] not in ctx.help_option_names:
            args = [_DEFAULT, *args]
        return super().parse_args(ctx, args)


@click.group(cls=WithDefault)
def clutch() -> None:
    """List or enter clutches; boxes, incubation, hatching.

    nestwatch clutch SITE [NIGHT DIG] is short for nestwatch clutch eggs SITE [NIGHT DIG].
    """


clutch.add_command(eggs, _DEFAULT)
for command in (
    container,
    place,
    probe,
    readings,
    window,
    alerts,
    check,
    weigh,
    hatch,
    hatchling,
    labels,
    calendar,
    profiles,
):
    clutch.add_command(command)
