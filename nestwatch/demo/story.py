"""Who nests when and where in two invented years, told from a seed. Pure.

Invented data, chosen so that every kind of entry occurs: nests, trials the evening before, false digs, a nest
that no camera saw, nights without footage. Intervals between clutches lie around the 24 days of Bona et al.
2012 (Amphibia-Reptilia 33: 207-213); clutch sizes in 5 to 17 (Najbar & Szuszkiewicz 2005).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

import numpy as np

from nestwatch.season.records import Call, Found

Point = tuple[float, float]
Seen = Literal["scan", "eye", "found"]


@dataclass(frozen=True, slots=True)
class Female:
    """One invented female. `spot`: metres on the plan of the pen around which she digs."""

    name: str
    marks: str
    shell_cm: float
    spot: Point
    first_day: int


@dataclass(frozen=True, slots=True)
class Visit:
    """One stay ashore. `hour`: hours after noon of the evening's date at which digging begins; minutes of the
    stages. `found` None: nobody has dug there yet. `seen`: how it came into the record."""

    night: date
    female: str | None
    place: Point
    hour: float
    dig_min: int
    lay_min: int
    cover_min: int
    call: Call
    likelihood: float
    found: Found | None
    why: str | None = None
    eggs: int = 0
    cracked: int = 0
    seen: Seen = "scan"


@dataclass(frozen=True, slots=True)
class Story:
    """`visits` by night; `dark`: nights without any footage; `short`: those of which half is missing;
    `unscanned`: nights nobody scanned; `last`: the last night that is told."""

    females: tuple[Female, ...]
    visits: tuple[Visit, ...]
    nights: tuple[date, ...]
    dark: frozenset[date]
    short: frozenset[date]
    unscanned: frozenset[date]


FEMALES = (
    Female("Alder", "left 2", 16.4, (0.7, 2.4), 4),
    Female("Birch", "left 2, right 9", 17.1, (1.5, 2.6), 2),
    Female("Clover", "right 1", 15.6, (2.4, 2.5), 9),
    Female("Dock", "right 10", 18.0, (1.1, 1.5), 6),
    Female("Elder", "left 8, right 8", 17.6, (1.9, 1.6), 12),
    Female("Fern", "left 1, left 3", 16.0, (0.6, 1.2), 1),
    Female("Gorse", "none", 16.9, (2.6, 1.5), 15),
    Female("Hazel", "right 3", 17.3, (1.7, 0.8), 8),
)
SEASON = ((5, 15), (7, 20))
AGAIN = ("Alder", "Birch", "Dock", "Elder", "Fern", "Hazel")
"""Females that lay twice in a year."""
FALSE = ("a hedgehog", "rain on the leaves", "the male, resting", "a shadow")


def tell(years: tuple[int, ...], last: date, seed: int) -> Story:
    """The nights of the nesting seasons of `years`, up to and without `last`."""
    rng = np.random.default_rng((seed, 20))
    nights = tuple(night for year in years for night in _season(year) if night < last)
    visits = [visit for year in years for visit in _year(year, rng)]
    visits += list(_alarms(nights, rng))
    lost = rng.choice(len(nights), size=max(1, len(nights) // 12), replace=False)
    gone = [nights[int(k)] for k in sorted(lost)]
    busy = {visit.night for visit in visits if visit.seen == "scan"}
    quiet = [night for night in gone if night not in busy]
    return Story(
        FEMALES,
        tuple(sorted((v for v in visits if v.night < last), key=lambda v: (v.night, v.hour))),
        nights,
        dark=frozenset(quiet[::3]),
        short=frozenset(quiet[1::3]),
        unscanned=frozenset(quiet[2::3]),
    )


def _season(year: int) -> Iterator[date]:
    first, end = (date(year, *day) for day in SEASON)
    yield from (first + timedelta(days=k) for k in range((end - first).days + 1))


def _year(year: int, rng: np.random.Generator) -> Iterator[Visit]:
    for number, female in enumerate(FEMALES):
        day = date(year, *SEASON[0]) + timedelta(days=female.first_day + int(rng.integers(0, 4)))
        for turn in range(2 if female.name in AGAIN else 1):
            night = day + timedelta(days=turn * int(rng.integers(21, 28)))
            if rng.random() < 0.8:
                yield _trial(female, night - timedelta(days=1), rng)
            # One nest a year is found by its eggs alone, while its night's footage shows nothing.
            yield _nest(female, night, rng, missed=number == year % len(FEMALES) and turn == 0)


def _nest(female: Female, night: date, rng: np.random.Generator, *, missed: bool) -> Visit:
    sure = float(np.clip(rng.beta(9, 1.4), 0.35, 0.998))
    return Visit(
        night,
        female.name,
        _beside(female.spot, 0.28, rng),
        hour=float(rng.uniform(7.4, 11.2)),
        dig_min=int(rng.integers(35, 75)),
        lay_min=int(rng.integers(10, 28)),
        cover_min=int(rng.integers(16, 40)),
        call="nest" if sure > 0.6 else "unclear",
        likelihood=round(sure, 3),
        found="eggs",
        eggs=int(rng.integers(6, 15)),
        cracked=int(rng.random() < 0.15),
        seen="found" if missed else "scan",
    )


def _trial(female: Female, night: date, rng: np.random.Generator) -> Visit:
    chance = float(rng.beta(2, 4))
    call: Call = "nest" if chance > 0.62 else "unclear" if chance > 0.4 else "trial"
    return Visit(
        night,
        female.name,
        _beside(female.spot, 0.5, rng),
        hour=float(rng.uniform(7.0, 12.5)),
        dig_min=int(rng.integers(18, 80)),
        lay_min=0,
        cover_min=0,
        call=call,
        likelihood=round(chance, 3),
        found="empty",
    )


def _alarms(nights: tuple[date, ...], rng: np.random.Generator) -> Iterator[Visit]:
    """Stays that are no dig of hers: rests every third night, and now and then something taken for a dig."""
    for night in nights:
        if rng.random() < 0.35:
            yield _other(night, "rest", round(float(rng.uniform(0.003, 0.06)), 3), None, None, rng)
        if rng.random() < 0.12:
            call: Call = "unclear" if rng.random() < 0.7 else "nest"
            chance = round(float(rng.uniform(0.2, 0.55) if call == "unclear" else rng.uniform(0.6, 0.8)), 3)
            yield _other(night, call, chance, "set-aside", str(rng.choice(FALSE)), rng)


def _other(
    night: date, call: Call, chance: float, found: Found | None, why: str | None, rng: np.random.Generator
) -> Visit:
    place = (float(rng.uniform(0.4, 2.8)), float(rng.uniform(0.5, 2.9)))
    hour, minutes = float(rng.uniform(6.5, 13.0)), int(rng.integers(25, 110))
    return Visit(night, None, place, hour, minutes, 0, 0, call, chance, found, why)


def _beside(spot: Point, spread: float, rng: np.random.Generator) -> Point:
    x, y = (at + float(rng.normal(0, spread)) for at in spot)
    return round(min(max(x, 0.3), 2.9), 2), round(min(max(y, 0.3), 2.9), 2)
