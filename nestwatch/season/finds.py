"""The keeper's word on each dig."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nestwatch.errors import EntryError
from nestwatch.season.clutches import begin_clutch, clutch_of
from nestwatch.season.digs import dig_by_id
from nestwatch.season.eggs import check_eggs
from nestwatch.season.incubation.agree import check_agrees
from nestwatch.season.instants import written
from nestwatch.season.open import Record, Writer, require_version
from nestwatch.season.records import Clutch, Dig, Eggs, Find, Found

if TYPE_CHECKING:
    from nestwatch.site.records import Site


def enter_find(
    record: Record,
    site: Site,
    dig: Dig,
    found: Found,
    *,
    why: str | None = None,
    eggs: Eggs | None = None,
    seen: int | None = None,
    sure: bool = False,
) -> Dig:
    """Enter (or change) what was found at a dig; returns the dig as it is now.

    `why` must be given for `set-aside`. `eggs` goes with `eggs` found only: a clutch is begun with every such
    find, counted or not. `seen`: the find's version as it was shown, 0 for none, None for whatever is there.
    Raises `EntryError` (also where a counted clutch contradicts), `DoubtfulEntry`, `ChangedMeanwhile`.
    """
    _check(found, why, eggs)
    check_eggs(eggs or Eggs(), site.animal.clutch_size, sure=sure)
    with record.writing(f"{dig.night} dig {dig.label}: {found}") as writer:
        now = dig_by_id(record, dig.id)
        require_version(seen, 0 if now.find is None else now.find.version, find_words(now.find))
        _settle_clutch(record, writer, now, found, eggs)
        _write(record, writer, now, found, why)
    return dig_by_id(record, dig.id)


def find_words(find: Find | None) -> str:
    """`eggs`, `set aside (a hedgehog)`, or `no find`."""
    if find is None:
        return "no find"
    plain = {"not-yet": "not dug yet", "set-aside": "set aside"}.get(find.found, find.found)
    return plain if find.why is None else f"{plain} ({find.why})"


def _check(found: Found, why: str | None, eggs: Eggs | None) -> None:
    if found == "set-aside" and not (why or "").strip():
        raise EntryError("say why it is set aside (--why), so that it can be understood later.")
    if eggs is not None and found != "eggs":
        raise EntryError(f"a number of eggs does not go with {found}; enter it as eggs.")


def _write(record: Record, writer: Writer, dig: Dig, found: Found, why: str | None) -> None:
    values = {"found": found, "why": (why or "").strip() or None, "entered_at": written(record.clock())}
    if dig.find is None:
        writer.add("find", {"dig": dig.id, **values})
    else:
        writer.change("find", dig.find.id, values)


def _settle_clutch(record: Record, writer: Writer, dig: Dig, found: Found, eggs: Eggs | None) -> None:
    """Begin, count or take away the clutch so that it agrees with the find."""
    clutch = clutch_of(record, dig.id)
    if found == "eggs":
        number = begin_clutch(writer, dig.id) if clutch is None else clutch.id
        if eggs is not None:
            states = ("whole", "dented", "cracked", "broken")
            writer.change("clutch", number, {state: getattr(eggs, state) for state in states})
            counted = clutch_of(record, dig.id)
            assert counted is not None
            check_agrees(record, counted)
    elif clutch is not None:
        _require_bare(record, dig, clutch)
        writer.remove("clutch", clutch.id)


def _require_bare(record: Record, dig: Dig, clutch: Clutch) -> None:
    told = (clutch.eggs.total, clutch.female, clutch.lifted_at, clutch.note)
    boxed = record.row("SELECT 1 FROM egg WHERE clutch = ?", (clutch.id,)) is not None
    if boxed or any(value is not None for value in told) or clutch.laid_by == "keeper":
        raise EntryError(
            f"dig {dig.label} of {dig.night} has a clutch with entries of its own; take those back first "
            f"(nestwatch find SITE {dig.night} {dig.label} --history, nestwatch undo SITE)."
        )
