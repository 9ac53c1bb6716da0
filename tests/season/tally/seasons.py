"""Invented seasons: scanned nights, finds, clutches and what became of the eggs, entered in few lines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from nestwatch.season.clutches import change_clutch, clutch_of
from nestwatch.season.digs import dig_called
from nestwatch.season.females import add_female, females
from nestwatch.season.finds import enter_find
from nestwatch.season.instants import written
from nestwatch.season.nights import take_in
from nestwatch.season.open import Record, Values, open_record
from nestwatch.season.records import Eggs, Found
from nestwatch.site.records import Site
from tests.export.seasons import dig, footage, site_in
from tests.season.records import night_file

SEPTEMBER = datetime(2026, 9, 30, 10, 0, tzinfo=UTC)


def a_site(folder: Path) -> Site:
    """Two cameras, "sandbank" and "shed side", on one pen; nesting from 15 May to 20 July, 18:00 to 03:00."""
    return site_in(folder)


def a_record(site: Site, now: datetime = SEPTEMBER) -> Record:
    return open_record(site, clock=lambda: now)


def scan(
    record: Record,
    site: Site,
    night: date,
    digs: Sequence[dict[str, Any]] = (),
    cameras: Sequence[dict[str, Any]] | None = None,
) -> None:
    """A scanned night; by default both cameras recorded all of it."""
    after = night + timedelta(days=1)
    seen = [footage(f"{night}", f"{after}", name) for name in ("sandbank", "shed side")]
    content = night_file(digs, f"{night}", seen if cameras is None else cameras)
    take_in(record, site, content, site.path.parent / "nights" / f"{night}")


def found(record: Record, site: Site, night: date, label: str, what: Found, **more: Any) -> None:
    enter_find(record, site, dig_called(record, night, label), what, sure=True, **more)


def nest(
    record: Record,
    site: Site,
    night: date,
    eggs: int | None,
    *,
    female: str | None = None,
    start: str = "21:14",
    end: str = "23:18",
    outcomes: Mapping[str, int] | None = None,
) -> None:
    """A scanned night with one dig called nest, its eggs found; `outcomes` of eggs put into a box, by outcome
    ("pending" for those not settled)."""
    scan(record, site, night, [dig(1, f"{night}", start, end)])
    found(record, site, night, "1", "eggs", eggs=Eggs(whole=eggs))
    if female is not None:
        if female not in {each.name for each in females(record)}:
            add_female(record, site, female, {})
        change_clutch(record, site, dig_called(record, night, "1"), {"female": female})
    if outcomes:
        _put(record, night, outcomes)


def _put(record: Record, night: date, outcomes: Mapping[str, int]) -> None:
    clutch = clutch_of(record, dig_called(record, night, "1").id)
    assert clutch is not None
    at = written(clutch.laid_at + timedelta(hours=10))
    hatched = written(clutch.laid_at + timedelta(days=60))
    with record.writing("a box") as writer:
        box = writer.add("container", {"label": f"{night}", "set_up_at": at})
        each = [outcome for outcome, count in outcomes.items() for _ in range(count)]
        for place, outcome in enumerate(each, start=1):
            values: Values = {"clutch": clutch.id, "container": box, "position": f"{place}", "put_at": at}
            egg = writer.add("egg", values)
            if outcome != "pending":
                writer.add("hatching", {"egg": egg, "at": hatched, "outcome": outcome})
