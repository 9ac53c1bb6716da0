"""Invented seasons, built by hand from records: no record is read and nothing is counted by the program."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from pathlib import Path

from nestwatch.season.tally.page.days import short_day
from nestwatch.season.tally.records import (
    Attempt,
    CameraHours,
    FemaleSeason,
    Hatch,
    Kind,
    MapNest,
    Nights,
    Performance,
    Row,
    Season,
    Share,
    Weather,
)
from nestwatch.site.records import Animal, Pen, Post, Site, Units

FIRST, LAST = date(2026, 5, 15), date(2026, 7, 20)
NONE = Hatch(None, 0, 0, 0, 0, 0)
NO_SHARE = Share(0, 0, None, None)
FEMALES = ("Ada", "Bramble", "Clover", "Dora", "Esker", "Fern", "Gale", "Hazel")
HOURS = (18, 19, 20, 21, 22, 23, 0, 1, 2)


def a_pen(name: str = "sand pen", *, width: float = 4.2, height: float = 3.0) -> Pen:
    corners = ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))
    names = ("post_sw", "post_se", "post_ne", "post_nw")
    return Pen(name, corners, tuple(Post(*each) for each in zip(names, corners, strict=True)))


def a_site(*pens: Pen, name: str = "Linden Fen", units: Units = "metric") -> Site:
    animal = Animal("European pond turtle", (12, 20), (5, 17), None, None, ((5, 15), (7, 20)), None)
    return Site(
        Path("site.toml"), name, "Europe/Paris", 47.2, 1.6, units, (time(16), time(9)), animal,
        pens or (a_pen(),), (),
    )  # fmt: skip


def an_attempt(
    number: int, night: date, kind: Kind = "nest", *, hour: int = 21, female: str | None = "Ada",
    place: tuple[float, float] | None = (2.7, 0.7), within: float | None = 0.06, hatch: Hatch | None = None,
    pen: str = "sand pen", label: str = "1",
) -> Attempt:  # fmt: skip
    at = datetime.combine(night + timedelta(days=hour < 12), time(hour, 10), UTC)
    return Attempt(
        number, night, label, kind, "scan", "nest", 0.9, True, True, at, at + timedelta(hours=1), hour,
        night - timedelta(days=night.weekday()), pen, "sand bank", female, place, within,
        number if kind == "nest" else None, hatch if kind == "nest" else None, Weather(18.0, 0.0), True,
    )  # fmt: skip


def summed(hatches: Sequence[Hatch]) -> Hatch:
    counted = [each.eggs for each in hatches if each.eggs is not None]
    fields = ("alive", "dead_in_shell", "infertile", "lost", "pending")
    return Hatch(sum(counted) if counted else None, *(sum(getattr(h, f) for h in hatches) for f in fields))


def a_row(
    name: str | None, attempts: Sequence[Attempt], *, nights: int | None = 40, hours: float | None = 300.0
) -> Row:
    kinds = [each.kind for each in attempts]
    hatch = summed([each.hatch for each in attempts if each.hatch])
    low, high = (0.5, 0.9) if hatch.settled else (None, None)
    return Row(
        name, len(attempts), kinds.count("nest"), kinds.count("trial"), kinds.count("open"), hatch,
        Share(hatch.alive, hatch.settled, low, high), nights, hours, len(attempts),
    )  # fmt: skip


def grouped(
    attempts: Sequence[Attempt], of: Callable[[Attempt], str | None], **how: float | None
) -> tuple[Row, ...]:
    names = dict.fromkeys(of(each) for each in attempts)
    return tuple(
        a_row(name, [each for each in attempts if of(each) == name], **how)  # type: ignore[arg-type]
        for name in names
    )


def some_nights(unseen: Sequence[date] = (), **other: object) -> Nights:
    expected = (LAST - FIRST).days + 1
    nights = Nights(
        (FIRST, LAST), expected, expected - len(unseen), 0, 3, len(unseen), tuple(unseen), expected * 9.0,
        (expected - len(unseen)) * 9.0 - 4.5, 0, (CameraHours("sandbank", "sand pen", 60, 603.0, 530.0),),
    )  # fmt: skip
    return replace(nights, **other)  # type: ignore[arg-type]


PERFORMANCE = Performance(
    recall=Share(13, 14, 0.661, 0.998),
    called=Share(12, 14, 0.572, 0.982),
    precision=Share(12, 14, 0.572, 0.982),
    missed=((date(2026, 6, 19), "A"),),
    false=((date(2026, 6, 3), "2"), (date(2026, 6, 22), "1")),
    false_per_night=2 / 60,
    unsettled=1,
)
NOTHING = Performance(NO_SHARE, NO_SHARE, NO_SHARE, (), (), None, 0)


def a_season(
    attempts: Sequence[Attempt], *, females: Sequence[FemaleSeason] = (), earlier: Sequence[MapNest] = (),
    unseen: Sequence[date] = (), name: str = "Linden Fen", weather: bool = False,
) -> Season:  # fmt: skip
    """The season of these attempts; its nests are those with a place."""
    by_hour = {str(hour): [each for each in attempts if each.hour == hour] for hour in HOURS}
    hours = tuple(
        a_row(f"{int(hour):02d}:00", each, hours=60 - 2.5 * n)
        for n, (hour, each) in enumerate(by_hour.items())
    )
    groups = {
        "female": grouped(attempts, lambda each: each.female, nights=None, hours=None),
        "pen": grouped(attempts, lambda each: each.pen),
        "zone": grouped(attempts, lambda each: each.zone),
        "hour": hours if attempts else (),
        "week": grouped(attempts, lambda each: each.week.isoformat(), nights=6, hours=54.0),
    }
    if weather:
        names = ("12 to 15 °C", "15 to 18 °C", "18 to 21 °C")
        warm = sorted(attempts, key=lambda each: each.dig % 3)
        groups["temperature"] = grouped(warm, lambda each: names[each.dig % 3], nights=20)
        groups["rain"] = grouped(attempts, lambda each: ("dry", "wet")[each.dig % 2], nights=30)
    nests = tuple(
        MapNest(e.pen, e.plan_m, e.within_m, e.night, e.label, e.night.year, e.female)
        for e in attempts if e.kind == "nest" and e.plan_m and e.pen
    )  # fmt: skip
    return Season(
        name, 2026, some_nights(unseen), tuple(attempts), a_row("all", attempts), groups,  # type: ignore[arg-type]
        tuple(females), nests, tuple(earlier), PERFORMANCE, ("2 digs lie in no pen.",),
    )  # fmt: skip


def empty_season() -> Season:
    """The year before anything happened."""
    nights = Nights((FIRST, LAST), 0, 0, 0, 0, 0, (), 0.0, 0.0, 0, ())
    return Season("Linden Fen", 2026, nights, (), a_row("all", ()), {}, (), (), (), NOTHING, ())


def a_hatch(dice: random.Random, night: date) -> Hatch:
    eggs = dice.randint(5, 14)
    if night > date(2026, 6, 25):
        return Hatch(eggs, 0, 0, 0, 0, eggs)
    dead, infertile, lost = dice.randint(0, 2), dice.randint(0, 2), dice.randint(0, 1)
    return Hatch(eggs, eggs - dead - infertile - lost - 1, dead, infertile, lost, 0)


def a_full_season(nests: int = 14, *, seed: int = 1, pen: Pen | None = None, females: int = 8) -> Season:
    """A season of so many nests, with trials, open digs, females, earlier years, weather, unseen nights."""
    dice = random.Random(seed)
    pen = pen or a_pen()
    width, height = pen.outline[2]
    names = [*FEMALES, *(f"No. {n}" for n in range(9, 400))][:females]
    days = sorted(FIRST + timedelta(days=dice.randint(4, 66)) for _ in range(nests))

    def place() -> tuple[float, float]:
        return round(width * dice.betavariate(2, 3), 2), round(height * dice.betavariate(3, 2), 2)

    laid = [
        an_attempt(
            n, day, hour=dice.choice(HOURS[2:7]), female=names[n % len(names)], place=place(), pen=pen.name,
            within=round(dice.uniform(0.05, 0.16), 2), hatch=a_hatch(dice, day), label=str(n % 9 + 1),
        )
        for n, day in enumerate(days, start=1)
    ]  # fmt: skip
    others: list[Kind] = ["trial", "trial", "open"]
    dug = [
        an_attempt(500 + n, dice.choice(days), dice.choice(others), hour=dice.choice(HOURS), pen=pen.name)
        for n in range(max(nests // 2, 2))
    ]
    dug = [replace(each, female=None) for each in dug]
    earlier = [
        MapNest(pen.name, place(), 0.1, date(year, 6, dice.randint(1, 28)), "1", year, dice.choice(names))
        for year in (2025, 2025, 2025, 2024, 2024, 2021)
        for _ in range(max(nests // 14, 1))
    ]
    return a_season(
        laid + dug, females=[_female(name, laid, n) for n, name in enumerate(names)], earlier=earlier,
        unseen=[FIRST, *(date(2026, 6, day) for day in (4, 5, 6, 21))], weather=True,
    )  # fmt: skip


def _female(name: str, laid: Sequence[Attempt], n: int) -> FemaleSeason:
    """Another clutch of two females in three is expected 20 to 27 days after the last."""
    clutches = tuple(sorted({each.night for each in laid if each.female == name}))
    due = _due(clutches[-1]) if clutches and n % 3 != 2 else None
    eggs = sum((each.hatch.eggs or 0) for each in laid if each.female == name and each.hatch)
    return FemaleSeason(
        name, clutches, eggs, tuple((b - a).days for a, b in pairwise(clutches)), (20, 27) if due else None,
        "her own earlier years" if due else None, due, due is not None and due[0] <= LAST,
        f"20–27 days after {short_day(clutches[-1])}" if due else "one clutch a year is usual",
    )  # fmt: skip


def _due(last: date) -> tuple[date, date] | None:
    due = last + timedelta(days=20), last + timedelta(days=27)
    return due if due[1] >= LAST else None
