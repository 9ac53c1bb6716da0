"""How nestwatch did on this site, by what the keeper found. Pure.

Only scanned nights are judged. A nest that nobody found is in no number, so recall is of the nests that the
keeper knows of; it is the more honest the more was searched besides the list (by eye, by search of the pen).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from nestwatch.season.tally.groups import share_of
from nestwatch.season.tally.records import Attempt, Performance


def performance_of(attempts: Sequence[Attempt], scanned_nights: int) -> Performance:
    """The tool's share of the keeper's nests, and of its calls that were right.

    A dig counts as listed where any scan of its night listed it, the latest or one before.
    """
    judged = [each for each in attempts if each.scanned]
    nests = [each for each in judged if each.kind == "nest"]
    calls = [each for each in judged if each.call == "nest"]
    settled = [each for each in calls if each.kind != "open"]
    false = [each for each in settled if each.kind != "nest"]
    return Performance(
        recall=share_of(sum(is_listed(each) for each in nests), len(nests)),
        called=share_of(sum(each.call == "nest" for each in nests), len(nests)),
        precision=share_of(len(settled) - len(false), len(settled)),
        missed=_named(each for each in nests if not is_listed(each)),
        false=_named(false),
        false_per_night=len(false) / scanned_nights if scanned_nights else None,
        unsettled=len(calls) - len(settled),
    )


def is_listed(attempt: Attempt) -> bool:
    """Whether a scan listed it as a dig: under any call but rest."""
    return attempt.call not in {None, "rest"}


def _named(attempts: Iterable[Attempt]) -> tuple[tuple[date, str], ...]:
    return tuple((each.night, each.label) for each in attempts)
