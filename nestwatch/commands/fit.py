"""`nestwatch fit`: the likelihood fitted to the keeper's own finds."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nestwatch.commands.boundary import answer
from nestwatch.commands.options import site_argument
from nestwatch.commands.record_context import as_json_text, json_option, opened

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from nestwatch.season.fit.records import FitState, Judged


@click.command()
@site_argument
@click.option("--show", is_flag=True, help="Show how it stands and change nothing.")
@click.option("--sure", is_flag=True, help="Take a fit that is no better on nights it has not seen.")
@click.option(
    "--picture",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write the reliability diagram, before and after side by side, as a PNG file.",
)
@json_option
def fit(site_file: Path, show: bool, sure: bool, picture: Path | None, as_json: bool) -> None:
    """Fit the likelihood to what you found at this site.

    Digs that you settled tell what the program's likelihoods are worth on your ground. Two numbers are fitted
    to them, once there are 20 finds with eggs and 20 without; nights scanned from then on use them. The order
    of digs stays as it is. nestwatch undo takes the fit back.

    Shown are the Brier score and the share that held eggs at each likelihood, before and after, where each
    night is judged by a fit that has not seen it (docs/likelihood.md).
    """
    from nestwatch.report.files import write_bytes
    from nestwatch.season.fit.fits import fit_likelihood
    from nestwatch.season.fit.reliability import reliability_picture
    from nestwatch.season.fit.state import fit_state

    with opened(site_file) as (_, record):
        if not show:
            fit_likelihood(record, sure=sure)
        state = fit_state(record)
        answer(as_json_text(state, record.zone) if as_json else fit_text(state, record.zone, fresh=not show))
    if picture is not None:
        write_bytes(picture, reliability_picture(state))


def fit_text(state: FitState, zone: ZoneInfo, *, fresh: bool) -> str:
    """How it stands, then the tables. `fresh`: a fit was made just now."""
    from nestwatch.season.fit.state import state_lines

    lines = list(state_lines(state, zone))
    if state.before is not None:
        lines += ["", "As the program was built:", *_table(state.before)]
    if state.after is not None:
        lines += ["", "Fitted, each night by a fit that has not seen it:", *_table(state.after)]
    if fresh:
        lines += ["", "To take the fit back: nestwatch undo SITE"]
    return "\n".join(lines)


def _table(told: Judged) -> Iterator[str]:
    """`  90 %   4 of 9 held eggs   44 %   (exact 95 %: 14–79 %)`."""
    yield "  likelihood   held eggs   share   exact 95 %"
    for each in told.bins:
        low, high = each.interval
        held = f"{each.held} of {each.total}"
        yield f"  {each.claimed:8.0%}   {held:>11}   {each.share:5.0%}   {low:.0%} to {high:.0%}"
