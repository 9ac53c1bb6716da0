"""When a female's next clutch may come: by her own intervals, the site's, or the species'. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from nestwatch.season.incubation.sources import Span
from nestwatch.season.records import Clutch

SPREAD = timedelta(days=7)
"""Either side of the usual time to the next clutch (judgement, no source)."""
SHORTEST = 7
"""Eggs that come in fewer days are taken for one clutch laid in two goes (judgement, no source)."""

Laying = Mapping[str, Sequence[date]]
"""By female: the nights on which she laid, ascending."""


@dataclass(frozen=True, slots=True)
class Typical:
    """Days from one clutch to the next, `low` to `high`. `by`: on whose word."""

    low: int
    high: int
    by: str

    @property
    def words(self) -> str:
        """`24 days`, or `21 to 26 days`."""
        return f"{self.low if self.low == self.high else f'{self.low} to {self.high}'} days"


def laying_nights(clutches: Iterable[Clutch]) -> dict[str, tuple[date, ...]]:
    """By female, of those clutches whose female is known."""
    found: dict[str, list[date]] = {}
    for each in clutches:
        if each.female is not None:
            found.setdefault(each.female, []).append(each.night)
    return {name: tuple(sorted(nights)) for name, nights in found.items()}


def intervals(nights: Sequence[date], year_of: Callable[[date], int]) -> tuple[int, ...]:
    """Days from each clutch to the next of one year. `nights` ascending; `year_of` a night."""
    return tuple((b - a).days for a, b in pairwise(nights) if year_of(a) == year_of(b))


def typical_days(
    laying: Laying, name: str, year: int, species: Span | None, year_of: Callable[[date], int]
) -> Typical | None:
    """What is usual for a female in `year`; None where nothing is known.

    By her own years before it, else every interval of the site's females, else `species`.
    """
    own = [night for night in laying.get(name, ()) if year_of(night) < year]
    every = [days for nights in laying.values() for days in intervals(nights, year_of)]
    for days, by in ((intervals(own, year_of), "her own earlier years"), (every, "the females of this site")):
        whole = [each for each in days if each >= SHORTEST]
        if whole:
            return Typical(min(whole), max(whole), by)
    if species is None:
        return None
    return Typical(round(species.low), round(species.high), f"the species profile {species.credit}")


def next_window(last: date, typical: Typical, season: tuple[date, date] | None) -> tuple[date, date] | None:
    """(first, last) date on which a clutch may follow that of `last`: the usual days, a week either side.

    Only within the nesting `season` where one is known; None where it ends before.
    """
    first = max(last + timedelta(days=typical.low) - SPREAD, last + timedelta(days=1))
    end = last + timedelta(days=typical.high) + SPREAD
    if season is None:
        return first, end
    return (first, min(end, season[1])) if first <= season[1] else None
