"""Thermometers: each in a box, or in an incubator for all the boxes there."""

from __future__ import annotations

import sqlite3
from typing import Any, TypedDict

from nestwatch.errors import EntryError
from nestwatch.season.incubation.containers import container_called
from nestwatch.season.incubation.records import Container, Lies, Probe
from nestwatch.season.open import Record, Writer
from nestwatch.site.names import did_you_mean


class ProbeChanges(TypedDict, total=False):
    """What to change of a probe. `container`: a box's label; what is left out stays, None takes away."""

    container: str | None
    incubator: str | None
    lies: Lies | None
    note: str | None


def probes(record: Record) -> tuple[Probe, ...]:
    """All probes by name."""
    return tuple(_probe(row) for row in record.rows("SELECT * FROM probe ORDER BY name"))


def probe_called(record: Record, name: str) -> Probe:
    """The probe of that name, in any case. Raises `EntryError`."""
    row = record.row("SELECT * FROM probe WHERE name = ?", (name.strip(),))
    if row is not None:
        return _probe(row)
    hint = did_you_mean(name, [each.name for each in probes(record)])
    hint = hint or f'; enter it with nestwatch clutch probe SITE "{name}" --box LABEL (or --incubator NAME).'
    raise EntryError(f'there is no probe "{name}"{hint}')


def probes_for(record: Record, container: Container) -> tuple[Probe, ...]:
    """The probes that tell of a box: those in it, else those of its incubator.

    Of these, probes in the substrate are used alone where there are any: air may differ by about 2 °C from
    eggs (J. Exp. Biol. 2018, 221, as read in an abstract).
    """
    all_of_them = probes(record)
    inside = [each for each in all_of_them if each.container == container.id]
    place = (container.incubator or "").casefold()
    around = [each for each in all_of_them if place and (each.incubator or "").casefold() == place]
    found = inside or around
    deep = [each for each in found if each.lies == "substrate"]
    return tuple(deep or found)


def enter_probe(record: Record, name: str, changes: ProbeChanges) -> Probe:
    """Enter a probe, or change the one of that name. Raises `EntryError`."""
    plain = name.strip()
    if not plain or len(plain) > 40 or not plain.isprintable():
        raise EntryError("a probe needs a name of 1 to 40 letters on one line.")
    with record.writing(f"probe {plain}") as writer:
        _write(record, writer, plain, _columns(record, changes))
    return probe_called(record, plain)


def _write(record: Record, writer: Writer, name: str, values: dict[str, Any]) -> None:
    row = record.row("SELECT id FROM probe WHERE name = ?", (name,))
    if row is None:
        if values.get("container") is None and values.get("incubator") is None:
            raise EntryError(
                "say where the probe is: in a box (--box LABEL) or an incubator (--incubator NAME)."
            )
        writer.add("probe", {"name": name, **values})
    elif values:
        writer.change("probe", row["id"], values)


def _columns(record: Record, changes: ProbeChanges) -> dict[str, Any]:
    values: dict[str, Any] = dict(changes)
    if changes.get("container") is not None:
        values["container"] = container_called(record, str(changes["container"])).id
    return values


def _probe(row: sqlite3.Row) -> Probe:
    return Probe(
        row["id"], row["version"], row["name"], row["container"], row["incubator"], row["lies"], row["note"]
    )
