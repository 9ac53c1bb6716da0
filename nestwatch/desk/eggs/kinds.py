"""Each kind of entry: a form as one call of the record, the same that the commands make."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, cast

from nestwatch.desk.eggs.forms import Sent
from nestwatch.errors import EntryError
from nestwatch.season.clutches import clutches
from nestwatch.season.incubation.checks import enter_checks, enter_weighing
from nestwatch.season.incubation.containers import ContainerChanges, add_container, change_container
from nestwatch.season.incubation.eggs import egg_by_id, mark_top, move_egg, put_eggs
from nestwatch.season.incubation.growth import enter_growth
from nestwatch.season.incubation.hatchings import HatchingChanges, settle_egg, settle_many
from nestwatch.season.incubation.logger.units import to_celsius
from nestwatch.season.incubation.probes import ProbeChanges, enter_probe
from nestwatch.season.incubation.readings import enter_reading
from nestwatch.season.incubation.records import OUTCOMES, Egg, Lies, Outcome, Saw
from nestwatch.season.journal import undo
from nestwatch.season.open import Record
from nestwatch.season.records import Clutch
from nestwatch.site.records import Site

Enter = Callable[[Record, Site, Sent], None]
_TOPS = {"yes": True, "no": False}


def _new_box(record: Record, site: Site, sent: Sent) -> None:
    told = _box_told(sent)
    add_container(record, site, told.pop("label"), cast(ContainerChanges, told), sure=sent.sure)


def _change_box(record: Record, site: Site, sent: Sent) -> None:
    told, seen = _box_told(sent), sent.row("seen")
    change_container(record, site, _box(sent), cast(ContainerChanges, told), seen=seen, sure=sent.sure)


def _box_told(sent: Sent) -> dict[str, Any]:
    """What the form says of a box; a time only where one was typed."""
    texts = ("profile", "medium", "incubator", "shelf", "note")
    masses = (("dry_g", "dry medium"), ("water_g", "water"), ("start_g", "the whole box"))
    at = sent.when("set_up_at")
    return {
        "label": sent.text("label") or "",
        **{name: sent.text(name) for name in texts},
        **{name: sent.number(name, what) for name, what in masses},
        **({} if at is None else {"set_up_at": at}),
    }


def _place(record: Record, _: Site, sent: Sent) -> None:
    count = sent.count("count", "how many")
    places = tuple((sent.text("places") or "").replace(",", " ").split())
    if (count is None) == (not places):
        raise EntryError("say either how many eggs, or the names of their places.")
    top = _TOPS.get(sent.text("top") or "")
    label = sent.needed("box", "say which box.")
    put_eggs(record, _clutch(record, sent), label, places or count or 0, top_marked=top, at=sent.when("at"))


def _clutch(record: Record, sent: Sent) -> Clutch:
    number = sent.row("clutch")
    found = next((each for each in clutches(record) if each.id == number), None)
    if found is None:
        raise EntryError("that clutch is not in the record any more; look again.")
    return found


def _probe(record: Record, _: Site, sent: Sent) -> None:
    here, incubator = sent.text("where") == "box", sent.text("incubator")
    changes = ProbeChanges(
        container=_box(sent) if here else None,
        incubator=None if here else incubator,
        lies=cast(Lies | None, sent.text("lies")),
        note=sent.text("note"),
    )
    enter_probe(record, sent.text("name") or "", changes)


def _reading(record: Record, site: Site, sent: Sent) -> None:
    value = sent.number("temperature", "temperature")
    if value is None:
        raise EntryError("write the temperature that was read.")
    celsius = to_celsius(value, "f" if sent.text("unit") == "f" else "c")
    humidity = sent.number("humidity", "humidity")
    probe = sent.needed("probe", "say which probe was read.")
    enter_reading(record, site, probe, celsius, at=sent.when("at"), humidity=humidity, sure=sent.sure)


def _weigh(record: Record, _: Site, sent: Sent) -> None:
    grams, added = sent.number("grams", "mass"), sent.number("added", "water added")
    if grams is None:
        raise EntryError("weigh the box before adding water, and give its grams.")
    enter_weighing(record, _box(sent), grams, added_g=added, at=sent.when("at"), sure=sent.sure)


def _check(record: Record, _: Site, sent: Sent) -> None:
    saw = cast(Saw, sent.needed("saw", "say what was seen."))
    note = sent.text("note")
    enter_checks(record, _box(sent), saw, positions=sent.several("egg"), at=sent.when("at"), note=note)


def _check_one(record: Record, _: Site, sent: Sent) -> None:
    egg = egg_by_id(record, sent.row("number"))
    saw = cast(Saw, sent.needed("saw", "say what was seen."))
    note = sent.text("note")
    enter_checks(record, egg.container_label, saw, positions=(egg.position,), at=sent.when("at"), note=note)


def _counts(record: Record, _: Site, sent: Sent) -> None:
    told = [(outcome, sent.count(outcome, outcome) or 0) for outcome in OUTCOMES]
    chosen = sent.text("clutch")
    night = None if chosen is None else _clutch(record, sent).night
    settle_many(record, _box(sent), told, at=sent.when("at"), night=night, sure=sent.sure)


def _settle(record: Record, _: Site, sent: Sent) -> None:
    egg = egg_by_id(record, sent.row("number"))
    changes: dict[str, Any] = {name: sent.text(name) for name in ("name", "note")}
    changes |= {"mass_g": sent.number("mass", "mass"), "shell_mm": sent.number("shell", "shell length")}
    outcome, at = sent.text("outcome"), sent.when("at")
    changes |= {} if outcome is None else {"outcome": cast(Outcome, outcome)}
    changes |= {} if at is None else {"at": at}
    _settled(record, egg, changes, sent)


def _left(record: Record, _: Site, sent: Sent) -> None:
    egg = egg_by_id(record, sent.row("number"))
    _settled(record, egg, {"left_at": sent.when("at") or record.clock()}, sent)


def _settled(record: Record, egg: Egg, changes: dict[str, Any], sent: Sent) -> None:
    told = cast(HatchingChanges, changes)
    seen = sent.row("seen")
    settle_egg(record, egg.container_label, egg.position, told, seen=seen, sure=sent.sure)


def _growth(record: Record, _: Site, sent: Sent) -> None:
    enter_growth(
        record,
        sent.needed("name", "give the hatchling a name or number first, above."),
        mass_g=sent.number("mass", "mass"),
        shell_mm=sent.number("shell", "shell length"),
        at=sent.when("at"),
        note=sent.text("note"),
        sure=sent.sure,
    )


def _top(record: Record, _: Site, sent: Sent) -> None:
    mark_top(record, egg_by_id(record, sent.row("number")), sent.text("marked") == "yes")


def _move(record: Record, _: Site, sent: Sent) -> None:
    egg = egg_by_id(record, sent.row("number"))
    label = sent.needed("to", "say to which box.")
    move_egg(record, egg, label, sent.needed("place", "say to which place of the box, such as A1."))


def _undo(record: Record, _: Site, sent: Sent) -> None:
    undo(record, sent.row("entry"))


def _box(sent: Sent) -> str:
    return sent.needed("box", "say which box.")


KINDS: dict[str, Enter] = {
    "new-box": _new_box,
    "change-box": _change_box,
    "place": _place,
    "probe": _probe,
    "reading": _reading,
    "weigh": _weigh,
    "check": _check,
    "check-egg": _check_one,
    "counts": _counts,
    "settle": _settle,
    "left": _left,
    "growth": _growth,
    "top": _top,
    "move": _move,
    "undo": _undo,
}
"""By the name in the form's address; a logger's file (`logs.take_file`) comes beside them."""
