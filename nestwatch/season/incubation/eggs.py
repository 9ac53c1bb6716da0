"""Which egg of which clutch lies where: put into boxes, moved, and never more of them than were laid."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from datetime import date, datetime, timedelta

from nestwatch.errors import EntryError
from nestwatch.season.digs import label_of
from nestwatch.season.incubation.containers import container_called
from nestwatch.season.incubation.records import Container, Egg
from nestwatch.season.instants import read, written
from nestwatch.season.open import Record, Values
from nestwatch.season.records import Clutch

CLOCK_SLACK = timedelta(minutes=1)
_SELECT = (
    "SELECT egg.*, night.date, dig.rank, dig.letter, dig.listed, container.label AS container_label, "
    "hatching.outcome FROM egg JOIN clutch ON clutch.id = egg.clutch JOIN dig ON dig.id = clutch.dig "
    "JOIN night ON night.id = dig.night JOIN container ON container.id = egg.container "
    "LEFT JOIN hatching ON hatching.egg = egg.id"
)


def eggs(record: Record) -> tuple[Egg, ...]:
    """Every egg in a box, by box and in the order in which they were put there."""
    return _eggs(record, "", ())


def eggs_in(record: Record, container: Container) -> tuple[Egg, ...]:
    """The eggs of a box."""
    return _eggs(record, "WHERE egg.container = ?", (container.id,))


def eggs_of(record: Record, clutch: Clutch) -> tuple[Egg, ...]:
    """The eggs of a clutch that are in boxes."""
    return _eggs(record, "WHERE egg.clutch = ?", (clutch.id,))


def egg_at(record: Record, container: Container, position: str) -> Egg:
    """The egg at a position of a box. Raises `EntryError`."""
    inside = eggs_in(record, container)
    found = next((egg for egg in inside if egg.position.casefold() == position.strip().casefold()), None)
    if found is None:
        there = ", ".join(egg.position for egg in inside) or "no egg"
        raise EntryError(f'box {container.label} has no egg at "{position}"; it has {there}.')
    return found


def egg_by_id(record: Record, number: int) -> Egg:
    """The egg with a number of the record. Raises `EntryError`, also for numbers beyond SQLite's."""
    found = _eggs(record, "WHERE egg.id = ?", (number,)) if number < 2**63 else ()
    if not found:
        raise EntryError(f"the record has no egg with the number {number} any more; look again.")
    return found[0]


def put_eggs(
    record: Record,
    clutch: Clutch,
    label: str,
    positions: Sequence[str] | int,
    *,
    top_marked: bool | None = None,
    at: datetime | None = None,
) -> tuple[Egg, ...]:
    """Put eggs of a clutch into a box; returns those put.

    `positions`: names of places, or how many eggs (then numbered on from those there). `at`: when, now where
    None. Raises `EntryError`: a place is taken, more eggs than the clutch has, before laying, to come.
    """
    when = at or record.clock()
    with record.writing(f"eggs of {clutch.night} dig {clutch.label}") as writer:
        box = container_called(record, label)
        names = _names(eggs_in(record, box), positions)
        _check_room(record, clutch, len(names))
        _check_time(record, clutch, when)
        values: Values = {"clutch": clutch.id, "container": box.id, "put_at": written(when)}
        marked = None if top_marked is None else int(top_marked)
        numbers = [writer.add("egg", {**values, "position": name, "top_marked": marked}) for name in names]
        writer.words = f"box {box.label}: {len(names)} eggs of {clutch.night} dig {clutch.label}"
    return tuple(egg for egg in eggs_in(record, box) if egg.id in numbers)


def move_egg(record: Record, egg: Egg, label: str, position: str) -> Egg:
    """Put an egg at another place, of another box perhaps. Raises `EntryError` where that is taken.

    In another box it counts as put there now: what its probes read before is not this egg's.
    """
    with record.writing(f"egg {egg.position} of box {egg.container_label}: moved") as writer:
        box = container_called(record, label)
        (name,) = _names([each for each in eggs_in(record, box) if each.id != egg.id], [position])
        put_at = egg.put_at if box.id == egg.container else record.clock()
        writer.change("egg", egg.id, {"container": box.id, "position": name, "put_at": written(put_at)})
        writer.words = f"egg {egg.position} of box {egg.container_label}: moved to {box.label} {name}"
    return egg_at(record, box, name)


def mark_top(record: Record, egg: Egg, marked: bool) -> None:
    """Say whether the top of an egg is marked."""
    words = f"egg {egg.position} of box {egg.container_label}: top {'' if marked else 'not '}marked"
    with record.writing(words) as writer:
        writer.change("egg", egg.id, {"top_marked": int(marked)})


def _names(inside: Sequence[Egg], positions: Sequence[str] | int) -> list[str]:
    taken = {egg.position.casefold() for egg in inside}
    if isinstance(positions, int):
        return _numbered(taken, positions)
    names = [name.strip() for name in positions]
    if not names or any(not name or len(name) > 12 or not name.isprintable() for name in names):
        raise EntryError("a place in a box needs a name of 1 to 12 letters, such as A1.")
    for k, name in enumerate(names):
        if name.casefold() in taken or name.casefold() in {each.casefold() for each in names[:k]}:
            raise EntryError(f'the place "{name}" of this box is taken; give another.')
    return names


def _numbered(taken: set[str], count: int) -> list[str]:
    if not 1 <= count <= 300:
        raise EntryError(f"{count} eggs cannot be put into a box; give a number from 1 to 300.")
    free = (str(number) for number in range(1, 1000) if str(number) not in taken)
    return [next(free) for _ in range(count)]


def _check_room(record: Record, clutch: Clutch, more: int) -> None:
    total, placed = clutch.eggs.total, len(eggs_of(record, clutch))
    if total is not None and placed + more > total:
        raise EntryError(
            f"the clutch of {clutch.night} dig {clutch.label} has {total} eggs, {placed} of them in boxes "
            f"already: {more} more are too many. If more were found, enter that first."
        )


def _check_time(record: Record, clutch: Clutch, at: datetime) -> None:
    if at > record.clock() + CLOCK_SLACK:
        raise EntryError("that is still to come; check the day.")
    if at < clutch.laid_at:
        laid = f"{clutch.laid_at.astimezone(record.zone):%Y-%m-%d %H:%M}"
        raise EntryError(f"eggs cannot be in a box before they are laid ({laid}); change one of the times.")


def _eggs(record: Record, where: str, values: Sequence[int]) -> tuple[Egg, ...]:
    order = "ORDER BY container.label, egg.id"
    return tuple(_egg(row) for row in record.rows(f"{_SELECT} {where} {order}", values))


def _egg(row: sqlite3.Row) -> Egg:
    marked = row["top_marked"]
    return Egg(
        row["id"],
        row["version"],
        row["clutch"],
        date.fromisoformat(row["date"]),
        label_of(row),
        row["container"],
        row["container_label"],
        row["position"],
        None if marked is None else bool(marked),
        read(row["put_at"]),
        row["outcome"],
    )
