"""How the likelihoods stand, as the season's page shows it."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from nestwatch.season.fit.records import FitState, Judged
from nestwatch.season.fit.reliability import diagram, panels_of
from nestwatch.season.fit.state import state_lines
from nestwatch.season.tally.page.records import Fitted, Table

_ALT = "Reliability diagram: {}. The numbers are in the table."


def fitted(state: FitState, zone: ZoneInfo) -> Fitted:
    """What is said of a site's likelihoods; the diagram only where something was found."""
    lines = tuple(state_lines(state, zone))
    if state.before is None:
        return Fitted(lines)
    pictures = tuple((_ALT.format(panel.title), diagram([panel], "svg")) for panel in panels_of(state))
    rows = [*_rows("as built", state.before), *(_rows("fitted", state.after) if state.after else ())]
    return Fitted(lines, pictures, Table(("Likelihood", "Given", "Held eggs", "Interval"), tuple(rows)))


def _rows(name: str, judged: Judged) -> list[tuple[str, ...]]:
    return [
        (name, f"{each.claimed:.2f}", f"{each.held} of {each.total}", "{:.2f}–{:.2f}".format(*each.interval))
        for each in judged.bins
    ]
