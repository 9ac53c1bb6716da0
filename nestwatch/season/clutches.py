"""Clutches: the eggs of one dig by state, when they were laid and lifted, and whose they are."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any, TypedDict

from nestwatch.errors import DoubtfulEntry, EntryError
from nestwatch.season.digs import dig_by_id, label_of
from nestwatch.season.eggs import check_eggs, eggs_words
from nestwatch.season.incubation.agree import check_agrees
from nestwatch.season.instants import read, written
from nestwatch.season.open import Record, Writer, require_version
from nestwatch.season.records import Clutch, Dig, Eggs

if TYPE_CHECKING:
    from nestwatch.site.records import Site

UNLIKELY_LAID = timedelta(hours=12)
"""Laying told so far outside the time of the dig is asked about."""
UNLIKELY_LIFTED = timedelta(days=30)
"""Lifting so long after laying is asked about."""

_SELECT = (
    "SELECT clutch.*, night.date, dig.rank, dig.letter, dig.listed, female.name AS female_name FROM clutch "
    "JOIN dig ON dig.id = clutch.dig JOIN night ON night.id = dig.night "
    "LEFT JOIN female ON female.id = clutch.female"
)


class ClutchChanges(TypedDict, total=False):
    """What to change in a clutch; what is left out stays, None takes a value away.

    `female`: her name. Instants aware. `whole`, `dented`, `cracked`, `broken`: eggs (`records.Eggs`).
    """

    female: str | None
    laid_at: datetime | None
    lifted_at: datetime | None
    whole: int | None
    dented: int | None
    cracked: int | None
    broken: int | None
    note: str | None


def clutches(record: Record, *, female: str | None = None) -> tuple[Clutch, ...]:
    """All clutches by night, or those of one female."""
    where, values = ("", ()) if female is None else (" WHERE female.name = ?", (female,))
    rows = record.rows(f"{_SELECT}{where} ORDER BY night.date, clutch.id", values)
    return tuple(_clutch(record, row) for row in rows)


def clutch_of(record: Record, dig: int) -> Clutch | None:
    """The clutch of a dig (its number in the record), None where there is none."""
    row = record.row(f"{_SELECT} WHERE clutch.dig = ?", (dig,))
    return None if row is None else _clutch(record, row)


def change_clutch(
    record: Record,
    site: Site,
    dig: Dig,
    changes: ClutchChanges,
    *,
    seen: int | None = None,
    sure: bool = False,
) -> Clutch:
    """Enter or change the clutch of a dig; a dig without a find becomes one with eggs.

    `seen`: the clutch's version as it was shown, 0 for none, None for whatever is there. Raises `EntryError`
    for what cannot be, `DoubtfulEntry` for the unlikely unless `sure`, `ChangedMeanwhile`.
    """
    with record.writing(f"{dig.night} dig {dig.label}: clutch") as writer:
        now = clutch_of(record, dig.id)
        _require_eggs(dig_by_id(record, dig.id))
        require_version(seen, 0 if now is None else now.version, "no clutch" if now is None else _words(now))
        values = _columns(record, changes)
        number = now.id if now is not None else _begun(record, writer, dig)
        if values:
            writer.change("clutch", number, values)
        after = clutch_of(record, dig.id)
        assert after is not None
        check_clutch(site, dig_by_id(record, dig.id), after, record.clock(), sure=sure)
        check_agrees(record, after)
        writer.words = f"{dig.night} dig {dig.label}: {_words(after)}"
    return after


def begin_clutch(writer: Writer, dig: int) -> int:
    """An empty clutch for a dig whose eggs were found; returns its row. Inside an action."""
    return writer.add("clutch", {"dig": dig})


def check_clutch(site: Site, dig: Dig, clutch: Clutch, now: datetime, *, sure: bool) -> None:
    """Raises `EntryError` or, unless `sure`, `DoubtfulEntry` for a clutch that cannot be or hardly can."""
    check_eggs(clutch.eggs, site.animal.clutch_size, sure=sure)
    for at, what in ((clutch.laid_at, "laying"), (clutch.lifted_at, "lifting")):
        if at is not None and at > now:
            raise EntryError(f"that {what} is still to come; check the day.")
    lifted = clutch.lifted_at
    if lifted is not None and lifted < clutch.laid_at:
        raise EntryError(
            f"eggs cannot be lifted before they are laid ({_by(clutch)}: "
            f"{clutch.laid_at.astimezone(_zone(site)):%Y-%m-%d %H:%M}); change one of the times."
        )
    if sure:
        return
    if not dig.start - UNLIKELY_LAID <= clutch.laid_at <= dig.end + UNLIKELY_LAID:
        raise DoubtfulEntry("that is far from the time of this dig; if it is so, add --sure.")
    if lifted is not None and lifted - clutch.laid_at > UNLIKELY_LIFTED:
        days = (lifted - clutch.laid_at).days
        raise DoubtfulEntry(f"that is {days} days after laying; if it is so, add --sure.")


def _zone(site: Site) -> Any:
    from zoneinfo import ZoneInfo

    return ZoneInfo(site.timezone)


def _by(clutch: Clutch) -> str:
    return "laid, as you said" if clutch.laid_by == "keeper" else "laid, by the dig"


def _require_eggs(dig: Dig) -> None:
    if dig.find is not None and dig.find.found in {"empty", "set-aside"}:
        raise EntryError(
            f"dig {dig.label} of {dig.night} is entered as {dig.find.found}; enter it as eggs first "
            f"(nestwatch find SITE {dig.night} {dig.label} --found eggs)."
        )


def _begun(record: Record, writer: Writer, dig: Dig) -> int:
    """A new clutch, and the find that goes with it."""
    at = written(record.clock())
    if dig.find is None:
        writer.add("find", {"dig": dig.id, "found": "eggs", "entered_at": at})
    elif dig.find.found != "eggs":
        writer.change("find", dig.find.id, {"found": "eggs", "why": None, "entered_at": at})
    return begin_clutch(writer, dig.id)


def _columns(record: Record, changes: Mapping[str, Any]) -> dict[str, Any]:
    """The changes as values of the table."""
    from nestwatch.season.females import female_called

    values = dict(changes)
    for name in ("laid_at", "lifted_at"):
        if values.get(name) is not None:
            values[name] = written(values[name])
    if values.get("female") is not None:
        values["female"] = female_called(record, values["female"]).id
    return values


def _clutch(record: Record, row: sqlite3.Row) -> Clutch:
    laid = read(row["laid_at"])
    return Clutch(
        id=row["id"],
        version=row["version"],
        dig=row["dig"],
        night=date.fromisoformat(row["date"]),
        label=label_of(row),
        female=row["female_name"],
        laid_at=laid or dig_by_id(record, row["dig"]).laid[0],
        laid_by="dig" if laid is None else "keeper",
        lifted_at=read(row["lifted_at"]),
        eggs=Eggs(row["whole"], row["dented"], row["cracked"], row["broken"]),
        note=row["note"],
    )


def _words(clutch: Clutch) -> str:
    return eggs_words(clutch.eggs) + ("" if clutch.female is None else f", of {clutch.female}")
