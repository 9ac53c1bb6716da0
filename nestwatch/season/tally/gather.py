"""From the record to attempts: every dig that counts, what was found, and what became of its eggs."""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from nestwatch.season.clutches import clutches
from nestwatch.season.digs import OPEN, label_of
from nestwatch.season.incubation.eggs import eggs
from nestwatch.season.instants import read
from nestwatch.season.open import Record
from nestwatch.season.records import Call, Clutch, Found
from nestwatch.season.scan import point_of
from nestwatch.season.tally.records import Attempt, Hatch, Kind, MapNest, Weather
from nestwatch.season.years import Dates, year_of

if TYPE_CHECKING:
    from nestwatch.site.records import Site

_DIGS = (
    "SELECT dig.id, dig.source, dig.listed, dig.rank, dig.letter, dig.zone, dig.pen, dig.starts_at, "
    "dig.ends_at, dig.call, coalesce(dig.likelihood_as_built, dig.likelihood) AS as_built, "
    "dig.plan_x, dig.plan_y, dig.within_m, night.date, "
    f"night.scanned_at, find.found, {OPEN} AS is_open FROM dig JOIN night ON night.id = dig.night "
    "LEFT JOIN find ON find.dig = dig.id "
    f"WHERE (find.id IS NOT NULL OR {OPEN}) AND night.date BETWEEN ? AND ? "
    "ORDER BY night.date, dig.starts_at, dig.id"
)


@dataclass(frozen=True, slots=True)
class Around:
    """What is known of a night besides its digs: its weather, and whether a camera saw a pen (None: any)."""

    weather_of: Callable[[date], Weather | None]
    was_seen: Callable[[date, str | None], bool]


@dataclass(frozen=True, slots=True)
class Laid:
    """All clutches of the record, of every year: by night, by dig, and what became of the eggs of each."""

    clutches: tuple[Clutch, ...]
    by_dig: Mapping[int, Clutch]
    hatches: Mapping[int, Hatch]


def laid(record: Record) -> Laid:
    """Every clutch and its eggs."""
    known = clutches(record)
    outcomes: dict[int, Counter[str]] = {each.id: Counter() for each in known}
    for egg in eggs(record):
        outcomes[egg.clutch][egg.outcome or "pending"] += 1
    hatches = {each.id: _hatch(each.eggs.total, outcomes[each.id]) for each in known}
    return Laid(known, {each.dig: each for each in known}, hatches)


def _hatch(total: int | None, counts: Mapping[str, int]) -> Hatch:
    names = ("alive", "dead-in-shell", "infertile", "lost", "pending")
    return Hatch(total, *(counts.get(name, 0) for name in names))


def kind_of(found: Found | None, call: Call | None, is_open: bool) -> Kind | None:
    """What a dig counts as; None for one that is no attempt.

    The keeper's find decides; without one the call does, and a rest is nothing. A dig that no scan lists any
    more and that nobody dug up is nothing either, unless it was called a nest.
    """
    if found == "eggs":
        return "nest"
    if found == "empty":
        return "trial"
    if found == "set-aside":
        return None if call == "rest" else "false"
    if not is_open:
        return None
    return "trial" if found is None and call == "trial" else "open"


def attempts_of(record: Record, site: Site, span: Dates, known: Laid, around: Around) -> tuple[Attempt, ...]:
    """The attempts (and the false digs) of the nights of a span, by night and time."""
    rows = record.rows(_DIGS, tuple(each.isoformat() for each in span))
    kinds = ((row, kind_of(row["found"], row["call"], bool(row["is_open"]))) for row in rows)
    zone = ZoneInfo(site.timezone)
    return tuple(_attempt(row, kind, known, zone, around) for row, kind in kinds if kind is not None)


def _attempt(row: sqlite3.Row, kind: Kind, known: Laid, zone: ZoneInfo, around: Around) -> Attempt:
    night, start = date.fromisoformat(row["date"]), read(row["starts_at"])
    clutch = known.by_dig.get(row["id"]) if kind == "nest" else None
    at: datetime = start if clutch is None else clutch.laid_at
    return Attempt(
        dig=row["id"],
        night=night,
        label=label_of(row),
        kind=kind,
        source=row["source"],
        call=row["call"],
        likelihood=row["as_built"],
        listed=bool(row["listed"]),
        scanned=row["scanned_at"] is not None,
        at=at,
        end=read(row["ends_at"]),
        hour=at.astimezone(zone).hour,
        week=monday(night),
        pen=row["pen"],
        zone=row["zone"],
        female=None if clutch is None else clutch.female,
        plan_m=point_of(row["plan_x"], row["plan_y"]),
        within_m=row["within_m"],
        clutch=None if clutch is None else clutch.id,
        hatch=_of_nest(kind, clutch, known),
        weather=around.weather_of(night),
        seen=around.was_seen(night, row["pen"]),
    )


def _of_nest(kind: Kind, clutch: Clutch | None, known: Laid) -> Hatch | None:
    if kind != "nest":
        return None
    return _hatch(None, {}) if clutch is None else known.hatches[clutch.id]


def monday(night: date) -> date:
    """The Monday of a night's week."""
    return night - timedelta(days=night.weekday())


def nests_on_map(record: Record, site: Site, span: Dates, known: Laid) -> tuple[MapNest, ...]:
    """Nests of the nights of a span that have a place on the plan of a pen, by night."""
    rows = record.rows(
        "SELECT dig.id, dig.rank, dig.letter, dig.listed, dig.pen, dig.plan_x, dig.plan_y, dig.within_m, "
        "night.date FROM dig JOIN night ON night.id = dig.night JOIN find ON find.dig = dig.id "
        "WHERE find.found = 'eggs' AND dig.pen IS NOT NULL AND dig.plan_x IS NOT NULL "
        "AND night.date BETWEEN ? AND ? ORDER BY night.date, dig.starts_at, dig.id",
        tuple(each.isoformat() for each in span),
    )
    return tuple(_map_nest(site, row, known.by_dig.get(row["id"])) for row in rows)


def _map_nest(site: Site, row: sqlite3.Row, clutch: Clutch | None) -> MapNest:
    night = date.fromisoformat(row["date"])
    return MapNest(
        row["pen"],
        (row["plan_x"], row["plan_y"]),
        row["within_m"],
        night,
        label_of(row),
        year_of(site, night),
        None if clutch is None else clutch.female,
    )
