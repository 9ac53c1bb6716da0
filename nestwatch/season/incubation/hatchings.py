"""What became of every egg, the days in the incubator until the yolk is absorbed, and the head start."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import Any, TypedDict

from nestwatch.errors import DoubtfulEntry, EntryError
from nestwatch.season.clutches import clutches
from nestwatch.season.digs import label_of
from nestwatch.season.incubation.containers import container_called
from nestwatch.season.incubation.eggs import egg_at, eggs_in
from nestwatch.season.incubation.records import OUTCOMES, Container, Egg, Hatching, Outcome
from nestwatch.season.instants import read, written
from nestwatch.season.open import Record, require_version
from nestwatch.site.names import did_you_mean

SOONEST = timedelta(days=25)
"""A hatch sooner after laying is asked about: the fastest published that we know took 39.4 days
(Pelodiscus sinensis at 34 °C, Du & Ji 2003, J. Therm. Biol. 28: 279-286, as read in an abstract)."""
YOLK = timedelta(days=7)
"""The week in the incubator until the yolk is absorbed (common practice, no source)."""
HEAVIEST_G, LONGEST_MM = 200.0, 120.0
"""No hatchling is heavier or longer (the leatherback's are near 50 g and 65 mm; from memory, no source)."""
COUNTED = "counted; which egg was not told"
_SELECT = (
    "SELECT hatching.*, egg.position, egg.container, container.label AS container_label, night.date, "
    "dig.rank, dig.letter, dig.listed FROM hatching JOIN egg ON egg.id = hatching.egg "
    "JOIN container ON container.id = egg.container JOIN clutch ON clutch.id = egg.clutch "
    "JOIN dig ON dig.id = clutch.dig JOIN night ON night.id = dig.night"
)


class HatchingChanges(TypedDict, total=False):
    """What to change of a hatching; what is left out stays, None takes a value away. As `Hatching`."""

    at: datetime
    outcome: Outcome
    mass_g: float | None
    shell_mm: float | None
    name: str | None
    left_at: datetime | None
    note: str | None


def hatchings(record: Record, container: Container | None = None) -> tuple[Hatching, ...]:
    """What became of eggs, by time; of one box, or of all."""
    where, values = ("", ()) if container is None else (" WHERE egg.container = ?", (container.id,))
    rows = record.rows(f"{_SELECT}{where} ORDER BY hatching.at, hatching.id", values)
    return tuple(_hatching(row) for row in rows)


def hatchling_called(record: Record, name: str) -> Hatching:
    """The hatchling of that name, in any case. Raises `EntryError`."""
    row = record.row(f"{_SELECT} WHERE hatching.name = ?", (name.strip(),))
    if row is None:
        names = [each.name for each in hatchings(record) if each.name]
        hint = (
            did_you_mean(name, names)
            or "; give it one with nestwatch clutch hatch SITE BOX --egg ... --name."
        )
        raise EntryError(f'there is no hatchling "{name}"{hint}')
    return _hatching(row)


def settle_egg(
    record: Record,
    label: str,
    position: str,
    changes: HatchingChanges,
    *,
    seen: int | None = None,
    sure: bool = False,
) -> Hatching:
    """Enter or change what became of one egg. A new entry needs an `outcome`; without a time it is now.

    `seen`: the entry's version as it was shown, 0 for none. Raises `EntryError` (hatched before laying, to
    come, name taken), `DoubtfulEntry` unless `sure`, `ChangedMeanwhile`.
    """
    with record.writing(f"box {label} egg {position}") as writer:
        egg = egg_at(record, container_called(record, label), position)
        now = _of_egg(record, egg)
        require_version(seen, 0 if now is None else now.version, "nothing" if now is None else now.outcome)
        if now is None and "outcome" not in changes:
            raise EntryError(f"say what became of the egg: one of {', '.join(OUTCOMES)}.")
        _require_free(record, changes.get("name"), now)
        if now is None:
            writer.add("hatching", _columns({"at": record.clock(), **changes, "egg": egg.id}))
        else:
            writer.change("hatching", now.id, _columns(changes))
        after = _of_egg(record, egg)
        assert after is not None
        _check(record, egg, after, sure=sure)
        writer.words = f"box {egg.container_label} egg {egg.position}: {after.outcome}"
    return after


def settle_many(
    record: Record,
    label: str,
    counts: Sequence[tuple[Outcome, int]],
    *,
    at: datetime | None = None,
    night: date | None = None,
    sure: bool = False,
) -> tuple[Hatching, ...]:
    """Enter how many eggs of a box hatched, died and so on, where nobody wrote down which.

    They are given to the eggs not settled yet in the order of the box. `night`: only the clutch laid then;
    needed where eggs of several clutches are left. Raises `EntryError`: more than are left, or whose unsaid.
    """
    when = at or record.clock()
    told = [(outcome, number) for outcome, number in counts if number]
    if not told or any(number < 0 for _, number in told):
        raise EntryError("say how many: --alive, --dead-in-shell, --infertile, --lost.")
    with record.writing(f"box {label}: hatching") as writer:
        box = container_called(record, label)
        left = _left(record, box, night)
        total = sum(number for _, number in told)
        if total > len(left):
            raise EntryError(_too_many(box, total, len(left)))
        outcomes = [outcome for outcome, number in told for _ in range(number)]
        found = []
        for egg, outcome in zip(left, outcomes, strict=False):
            writer.add("hatching", _columns({"egg": egg.id, "at": when, "outcome": outcome, "note": COUNTED}))
            entered = _of_egg(record, egg)
            assert entered is not None
            _check(record, egg, entered, sure=sure)
            found.append(entered)
        words = ", ".join(f"{number} {outcome}" for outcome, number in told)
        writer.words = f"box {box.label}: {words}"
    return tuple(found)


def _left(record: Record, box: Container, night: date | None) -> list[Egg]:
    left = [egg for egg in eggs_in(record, box) if egg.outcome is None]
    left = [egg for egg in left if night is None or egg.night == night]
    of = sorted({egg.of for egg in left})
    if len(of) > 1:
        raise EntryError(
            f"box {box.label} holds eggs of {' and '.join(of)}: say of which clutch (--night), or which egg "
            "(--egg)."
        )
    return left


def _too_many(box: Container, told: int, left: int) -> str:
    return (
        f"{told} eggs were told, but box {box.label} has only {left} left to settle: more cannot have "
        "hatched than were laid. Enter eggs found later with nestwatch clutch place."
    )


def _of_egg(record: Record, egg: Egg) -> Hatching | None:
    row = record.row(f"{_SELECT} WHERE hatching.egg = ?", (egg.id,))
    return None if row is None else _hatching(row)


def _require_free(record: Record, name: str | None, now: Hatching | None) -> None:
    if name is None:
        return
    if not name.strip() or len(name) > 40 or not name.isprintable():
        raise EntryError("a hatchling needs a name or number of 1 to 40 letters on one line.")
    row = record.row("SELECT id, name FROM hatching WHERE name = ?", (name.strip(),))
    if row is not None and (now is None or row["id"] != now.id):
        raise EntryError(f'there is a hatchling "{row["name"]}" already; choose another name.')


def _check(record: Record, egg: Egg, entered: Hatching, *, sure: bool) -> None:
    """Raises for a time or a size that cannot be, or hardly can."""
    if entered.at > record.clock():
        raise EntryError("that is still to come; check the day.")
    laid = next(each.laid_at for each in clutches(record) if each.id == egg.clutch)
    if entered.at < laid:
        raise EntryError(
            f"an egg cannot be settled before it was laid ({laid.astimezone(record.zone):%Y-%m-%d %H:%M}); "
            "change one of the times."
        )
    hatched = entered.outcome in {"alive", "dead-in-shell"}
    if hatched and entered.at - laid < SOONEST and not sure:
        raise DoubtfulEntry(
            f"that is only {(entered.at - laid).days} days after laying; if it is so, add --sure."
        )
    if entered.left_at is not None:
        _check_left(record, entered)
    check_size(entered.mass_g, entered.shell_mm, HEAVIEST_G, LONGEST_MM)
    if not hatched and (entered.mass_g or entered.shell_mm or entered.name):
        raise EntryError(f"an egg that is {entered.outcome} has no hatchling to name or measure.")


def _check_left(record: Record, entered: Hatching) -> None:
    assert entered.left_at is not None
    if entered.outcome != "alive":
        raise EntryError(f"an egg that is {entered.outcome} does not leave the incubator as a hatchling.")
    if not entered.at <= entered.left_at <= record.clock():
        raise EntryError("a hatchling leaves the incubator after it hatched, and not in the future.")


def check_size(mass_g: float | None, shell_mm: float | None, heaviest: float, longest: float) -> None:
    """Raises `EntryError` for a mass (grams) or a shell (millimetres) that cannot be."""
    if mass_g is not None and not 0 < mass_g <= heaviest:
        raise EntryError(f"{mass_g:g} g cannot be; give grams, at most {heaviest:g}.")
    if shell_mm is not None and not 5 <= shell_mm <= longest:
        raise EntryError(f"a shell of {shell_mm:g} mm cannot be; give millimetres, 5 to {longest:g}.")


def _columns(values: Any) -> dict[str, Any]:
    found = dict(values)
    for name in ("at", "left_at"):
        if found.get(name) is not None:
            found[name] = written(found[name])
    if found.get("name") is not None:
        found["name"] = found["name"].strip()
    if found.get("outcome", "alive") not in OUTCOMES:
        raise EntryError(f'"{found["outcome"]}" is none of {", ".join(OUTCOMES)}.')
    return found


def _hatching(row: sqlite3.Row) -> Hatching:
    return Hatching(
        row["id"],
        row["version"],
        row["egg"],
        row["container"],
        row["container_label"],
        row["position"],
        f"{row['date']} dig {label_of(row)}",
        read(row["at"]),
        row["outcome"],
        row["mass_g"],
        row["shell_mm"],
        row["name"],
        read(row["left_at"]),
        row["note"],
    )
