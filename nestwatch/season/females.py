"""Females: who laid, by name or number, marks, size and photograph."""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING, Any, TypedDict

from nestwatch.errors import DoubtfulEntry, EntryError
from nestwatch.season.open import Record, require_version
from nestwatch.season.records import Female

if TYPE_CHECKING:
    from nestwatch.site.records import Site

LONGEST_CM = 250.0
"""No turtle is longer (the leatherback; from memory, no source)."""
UNLIKELY_SHARE = (0.5, 1.5)
"""Shells shorter or longer than these shares of the site file's range are asked about."""

_SELECT = (
    "SELECT female.*, (SELECT count(*) FROM clutch WHERE clutch.female = female.id) AS clutches FROM female"
)


class FemaleChanges(TypedDict, total=False):
    """What to change of a female; what is left out stays, None takes a value away.

    `photograph` is a path relative to the site's folder, as `photographs.keep_photograph` gives it.
    """

    name: str
    marks: str | None
    shell_length_cm: float | None
    photograph: str | None
    note: str | None


def females(record: Record) -> tuple[Female, ...]:
    """All females by name."""
    return tuple(_female(row) for row in record.rows(f"{_SELECT} ORDER BY name"))


def female_called(record: Record, name: str) -> Female:
    """The female of that name, in any case. Raises `EntryError`, with the nearest name there is."""
    from nestwatch.site.names import did_you_mean

    row = record.row(f"{_SELECT} WHERE name = ?", (name.strip(),))
    if row is not None:
        return _female(row)
    hint = did_you_mean(name, [each.name for each in females(record)])
    hint = hint or f'; add her with nestwatch female SITE "{name}" --new.'
    raise EntryError(f'there is no female "{name}"{hint}')


def add_female(record: Record, site: Site, name: str, told: FemaleChanges, *, sure: bool = False) -> Female:
    """Enter a female. Raises `EntryError` (the name is taken, ...), `DoubtfulEntry` unless `sure`."""
    values: dict[str, Any] = {**told, "name": _name(name)}
    _check_length(site, told.get("shell_length_cm"), sure=sure)
    with record.writing(f"female {values['name']}: added") as writer:
        _require_free(record, values["name"], None)
        writer.add("female", values)
    return female_called(record, values["name"])


def change_female(
    record: Record,
    site: Site,
    name: str,
    changes: FemaleChanges,
    *,
    seen: int | None = None,
    sure: bool = False,
) -> Female:
    """Change a female; `seen`: her version as it was shown, None for whatever is there.

    Raises `EntryError`, `DoubtfulEntry` unless `sure`, `ChangedMeanwhile`.
    """
    _check_length(site, changes.get("shell_length_cm"), sure=sure)
    new = _name(changes["name"]) if "name" in changes else name
    with record.writing(f"female {name}: changed") as writer:
        now = female_called(record, name)
        require_version(seen, now.version, female_words(now))
        _require_free(record, new, now.id)
        values: dict[str, Any] = {**changes}
        if "name" in changes:
            values["name"] = new
        writer.change("female", now.id, values)
    return female_called(record, new)


def female_words(female: Female) -> str:
    """`Ada: notches left 2, right 9; 16.4 cm`."""
    length = None if female.shell_length_cm is None else f"{female.shell_length_cm:g} cm"
    told = [text for text in (female.marks, length, female.note) if text]
    return female.name + (f": {'; '.join(told)}" if told else "")


def _name(name: str) -> str:
    plain = name.strip()
    if not plain or len(plain) > 60 or not plain.isprintable():
        raise EntryError("a female needs a name or number of 1 to 60 letters on one line.")
    return plain


def _require_free(record: Record, name: str, own: int | None) -> None:
    row = record.row("SELECT id, name FROM female WHERE name = ?", (name,))
    if row is not None and row["id"] != own:
        raise EntryError(f'there is a female "{row["name"]}" already; choose another name, or change her.')


def _check_length(site: Site, length: float | None, *, sure: bool) -> None:
    if length is None:
        return
    if not 1 <= length <= LONGEST_CM:
        raise EntryError(f"a shell of {length:g} cm cannot be; give centimetres.")
    low, high = site.animal.shell_length_cm
    if not UNLIKELY_SHARE[0] * low <= length <= UNLIKELY_SHARE[1] * high and not sure:
        raise DoubtfulEntry(
            f"a shell of {length:g} cm is far from the site file's {low:g} to {high:g} cm; if it is so, add "
            "--sure."
        )


def _female(row: sqlite3.Row) -> Female:
    return Female(
        row["id"],
        row["version"],
        row["name"],
        row["marks"],
        row["shell_length_cm"],
        row["photograph"],
        row["note"],
        row["clutches"],
    )
