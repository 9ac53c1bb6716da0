"""Looks at eggs (candling), and boxes weighed and topped up with water."""

from __future__ import annotations

import sqlite3
from datetime import datetime, timedelta

from nestwatch.errors import DoubtfulEntry, EntryError
from nestwatch.season.incubation.containers import container_called
from nestwatch.season.incubation.eggs import eggs_in
from nestwatch.season.incubation.records import SAW, Check, Container, Saw, Weighing
from nestwatch.season.instants import read, written
from nestwatch.season.open import Record, Values

TURNING = timedelta(days=2)
CHANGE = 0.3
"""A box whose mass changed by more than this share of its start mass is asked about (judgement)."""
CAUTION = (
    "Candle from the side or from above without turning the egg, briefly and with a cool lamp (common "
    "practice, no source)."
)


def checks(record: Record, container: Container) -> tuple[Check, ...]:
    """All looks at a box and its eggs, oldest first."""
    rows = record.rows(
        "SELECT inspection.*, egg.position FROM inspection LEFT JOIN egg ON egg.id = inspection.egg "
        "WHERE inspection.container = ? ORDER BY inspection.at, inspection.id",
        (container.id,),
    )
    return tuple(_check(row) for row in rows)


def weighings(record: Record, container: Container) -> tuple[Weighing, ...]:
    """All weighings of a box, oldest first."""
    rows = record.rows("SELECT * FROM weighing WHERE container = ? ORDER BY at, id", (container.id,))
    return tuple(_weighing(row) for row in rows)


def enter_checks(
    record: Record,
    label: str,
    saw: Saw,
    *,
    positions: tuple[str, ...] = (),
    at: datetime | None = None,
    note: str | None = None,
) -> tuple[Check, ...]:
    """Enter what was seen of some eggs of a box, or of the whole box where no position is told.

    Raises `EntryError`: no such egg, before it was put there, to come.
    """
    if saw not in SAW:
        raise EntryError(f'"{saw}" is none of {", ".join(SAW)}.')
    when = at or record.clock()
    with record.writing(f"box {label}: {saw}") as writer:
        box = container_called(record, label)
        numbers: list[int | None] = [*_eggs_at(record, box, positions, when)]
        for number in numbers or [None]:
            values: Values = {
                "container": box.id,
                "egg": number,
                "at": written(when),
                "saw": saw,
                "note": note,
            }
            writer.add("inspection", values)
        of = f" egg {', '.join(positions)}" if positions else ""
        writer.words = f"box {box.label}{of}: {saw}"
    return checks(record, box)


def enter_weighing(
    record: Record,
    label: str,
    total_g: float,
    *,
    added_g: float | None = None,
    at: datetime | None = None,
    sure: bool = False,
) -> Weighing:
    """Enter a box's mass, before `added_g` of water. Raises `EntryError`, `DoubtfulEntry` unless `sure`."""
    when = at or record.clock()
    with record.writing(f"box {label}: {total_g:g} g") as writer:
        box = container_called(record, label)
        _require_past(record, box, when)
        _check_mass(box, total_g, added_g, sure=sure)
        values: Values = {"container": box.id, "at": written(when), "total_g": total_g, "added_g": added_g}
        number = writer.add("weighing", values)
        water = f", {added_g:g} g of water added" if added_g else ""
        writer.words = f"box {box.label}: {total_g:g} g{water}"
    return next(each for each in weighings(record, box) if each.id == number)


def water_missing(container: Container, weighed: tuple[Weighing, ...]) -> float | None:
    """Grams of water to add to come back to the start mass by the last weighing; None: not known.

    Eggs take water up: a box that has lost nothing may still have drier medium (common practice, no source).
    """
    if container.start_g is None or not weighed:
        return None
    last = weighed[-1]
    return max(container.start_g - last.total_g - (last.added_g or 0.0), 0.0)


def _eggs_at(record: Record, box: Container, positions: tuple[str, ...], at: datetime) -> list[int]:
    from nestwatch.season.incubation.eggs import egg_at

    _require_past(record, box, at)
    found = [egg_at(record, box, position) for position in positions]
    early = next((egg for egg in found or eggs_in(record, box) if at < egg.put_at), None)
    if early is not None and positions:
        raise EntryError(
            f"egg {early.position} was put into box {box.label} only on "
            f"{early.put_at.astimezone(record.zone):%Y-%m-%d %H:%M}; change one of the times."
        )
    return [egg.id for egg in found]


def _require_past(record: Record, box: Container, at: datetime) -> None:
    if at > record.clock():
        raise EntryError("that is still to come; check the day.")
    if at < box.set_up_at - TURNING:
        raise EntryError(
            f"box {box.label} was set up only on {box.set_up_at.astimezone(record.zone):%Y-%m-%d %H:%M}; "
            "change one of the times."
        )


def _check_mass(box: Container, total_g: float, added_g: float | None, *, sure: bool) -> None:
    if total_g <= 0 or (added_g is not None and added_g < 0):
        raise EntryError("a mass is above 0; give grams.")
    if box.start_g is None or sure:
        return
    if abs(total_g - box.start_g) > CHANGE * box.start_g:
        raise DoubtfulEntry(
            f"box {box.label} weighed {box.start_g:g} g when it was set up, and {total_g:g} g now? Check "
            "unit and box; if it is so, add --sure."
        )


def _check(row: sqlite3.Row) -> Check:
    return Check(
        row["id"],
        row["version"],
        row["container"],
        row["egg"],
        row["position"],
        read(row["at"]),
        row["saw"],
        row["note"],
    )


def _weighing(row: sqlite3.Row) -> Weighing:
    return Weighing(
        row["id"], row["version"], row["container"], read(row["at"]), row["total_g"], row["added_g"]
    )
