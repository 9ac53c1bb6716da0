"""Boxes with their medium: entered, changed, found by their label."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any, TypedDict

from nestwatch.errors import DoubtfulEntry, EntryError
from nestwatch.season.incubation.profile import profile_called
from nestwatch.season.incubation.records import Container
from nestwatch.season.instants import read, written
from nestwatch.season.open import Record, require_version
from nestwatch.site.names import did_you_mean

if TYPE_CHECKING:
    from nestwatch.site.records import Site

WATER = (0.4, 2.5)
"""Grams of water for a gram of dry medium outside which it is asked (judgement; the Packard laboratory's
337 g for 300 g of vermiculite, about -150 kPa, is 1.12, from memory: verify for your own batch)."""
HEAVIEST_G = 100_000.0


class ContainerChanges(TypedDict, total=False):
    """What to enter or change of a box; what is left out stays, None takes a value away. As `Container`."""

    label: str
    profile: str | None
    medium: str | None
    dry_g: float | None
    water_g: float | None
    start_g: float | None
    incubator: str | None
    shelf: str | None
    set_up_at: datetime
    note: str | None


def containers(record: Record) -> tuple[Container, ...]:
    """All boxes by label."""
    return tuple(_container(row) for row in record.rows("SELECT * FROM container ORDER BY label"))


def container_called(record: Record, label: str) -> Container:
    """The box of that label, in any case. Raises `EntryError` with the nearest there is."""
    row = record.row("SELECT * FROM container WHERE label = ?", (label.strip(),))
    if row is not None:
        return _container(row)
    hint = did_you_mean(label, [each.label for each in containers(record)])
    hint = hint or f'; enter it with nestwatch clutch container SITE "{label}" --new.'
    raise EntryError(f'there is no box "{label}"{hint}')


def container_by_id(record: Record, number: int) -> Container:
    """The box with a number of the record."""
    row = record.row("SELECT * FROM container WHERE id = ?", (number,))
    if row is None:
        raise EntryError(f"the record has no box with the number {number} any more; look again.")
    return _container(row)


def add_container(
    record: Record, site: Site, label: str, told: ContainerChanges, *, sure: bool = False
) -> Container:
    """Enter a box; set up now where no time is told. Raises `EntryError`, `DoubtfulEntry` unless `sure`."""
    values: ContainerChanges = {"set_up_at": record.clock(), **told, "label": _label(label)}
    with record.writing(f"box {values['label']}: entered") as writer:
        _require_free(record, values["label"], None)
        number = writer.add("container", _columns(site, values))
        _check(record, container_by_id(record, number), sure=sure)
    return container_by_id(record, number)


def change_container(
    record: Record,
    site: Site,
    label: str,
    changes: ContainerChanges,
    *,
    seen: int | None = None,
    sure: bool = False,
) -> Container:
    """Change a box; `seen`: its version as it was shown, None for whatever is there.

    Raises `EntryError`, `DoubtfulEntry` unless `sure`, `ChangedMeanwhile`.
    """
    with record.writing(f"box {label}: changed") as writer:
        now = container_called(record, label)
        require_version(seen, now.version, container_words(now))
        values: dict[str, Any] = dict(changes)
        if "label" in changes:
            values["label"] = _label(changes["label"])
            _require_free(record, values["label"], now.id)
        writer.change("container", now.id, _columns(site, values))
        _check(record, container_by_id(record, now.id), sure=sure)
    return container_by_id(record, now.id)


def container_words(container: Container) -> str:
    """`A1: vermiculite, 300 g with 337 g of water (1.12 : 1), incubator left, shelf 2`."""
    parts = [container.medium] if container.medium else []
    if container.dry_g and container.water_g is not None:
        ratio = container.water_g / container.dry_g
        parts.append(f"{container.dry_g:g} g with {container.water_g:g} g of water ({ratio:.2f} : 1)")
    parts += [f"weighed {container.start_g:g} g"] if container.start_g else []
    parts += [f"incubator {container.incubator}"] if container.incubator else []
    parts += [f"shelf {container.shelf}"] if container.shelf else []
    parts += [container.note] if container.note else []
    return f"{container.label}: {', '.join(parts) or 'nothing told'}"


def _label(label: str) -> str:
    plain = label.strip()
    if not plain or len(plain) > 30 or not plain.isprintable():
        raise EntryError("a box needs a label of 1 to 30 letters on one line.")
    return plain


def _require_free(record: Record, label: str, own: int | None) -> None:
    row = record.row("SELECT id, label FROM container WHERE label = ?", (label,))
    if row is not None and row["id"] != own:
        raise EntryError(f'there is a box "{row["label"]}" already; two boxes must not share a label.')


def _columns(site: Site, values: Mapping[str, Any]) -> dict[str, Any]:
    found = dict(values)
    if "set_up_at" in found:
        found["set_up_at"] = written(found["set_up_at"])
    if found.get("profile") is not None:
        found["profile"] = profile_called(site, found["profile"]).key
    return found


def _check(record: Record, box: Container, *, sure: bool) -> None:
    if box.set_up_at > record.clock():
        raise EntryError("that setting up is still to come; check the day.")
    for value, what in ((box.dry_g, "medium"), (box.water_g, "water"), (box.start_g, "box")):
        if value is not None and not 0 < value <= HEAVIEST_G:
            raise EntryError(f"{value:g} g of {what} cannot be; give grams.")
    if box.dry_g and box.water_g and not sure:
        ratio = box.water_g / box.dry_g
        if not WATER[0] <= ratio <= WATER[1]:
            raise DoubtfulEntry(
                f"{box.water_g:g} g of water for {box.dry_g:g} g of dry medium is {ratio:.2f} : 1, which is "
                "unusual; if it is so, add --sure."
            )


def _container(row: sqlite3.Row) -> Container:
    same = (
        "id",
        "version",
        "label",
        "profile",
        "medium",
        "dry_g",
        "water_g",
        "start_g",
        "incubator",
        "shelf",
    )
    return Container(**{name: row[name] for name in same}, set_up_at=read(row["set_up_at"]), note=row["note"])
