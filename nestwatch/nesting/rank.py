"""The order a keeper should look in: completed nests, what may be one, then trials; rest after every dig."""

from __future__ import annotations

from collections.abc import Sequence

from nestwatch.nesting.records import Dig

_ORDER = {"nest": 0, "unclear": 1, "trial": 2, "rest": 3}


def ranked(digs: Sequence[Dig]) -> list[Dig]:
    """`digs` best first. Same order for the same digs, whatever order they come in.

    The likelihood as built decides: a fit to the site's finds keeps that order, but may make two equal.
    """
    return sorted(digs, key=lambda d: (_ORDER[d.call], -d.as_built, d.start, d.camera))
