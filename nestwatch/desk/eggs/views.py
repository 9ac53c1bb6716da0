"""What the pages show, gathered from the record: all boxes, one box, one egg."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from urllib.parse import quote, urlencode

from flask import request
from werkzeug.datastructures import MultiDict

from nestwatch.desk.eggs.chart import make_chart
from nestwatch.desk.eggs.logs import Question
from nestwatch.desk.eggs.wording import CHOICES, FIELDS
from nestwatch.desk.guard import TOKEN_FIELD
from nestwatch.desk.morning.room import Room
from nestwatch.desk.morning.showing import show
from nestwatch.season.clutches import clutches
from nestwatch.season.incubation import telling
from nestwatch.season.incubation.checks import CAUTION, checks, weighings
from nestwatch.season.incubation.containers import container_called, container_words, containers
from nestwatch.season.incubation.eggs import eggs_in, eggs_of
from nestwatch.season.incubation.expected import Expected, alerts, expectations
from nestwatch.season.incubation.growth import growth_of
from nestwatch.season.incubation.hatchings import hatchings
from nestwatch.season.incubation.labels import NAMES
from nestwatch.season.incubation.probes import probes, probes_for
from nestwatch.season.incubation.profile import OF_THE_SITE, profile_called, profiles
from nestwatch.season.incubation.readings import batches, series_of
from nestwatch.season.incubation.records import OUTCOMES, SAW, Container, Egg, Probe, Series
from nestwatch.season.journal import actions
from nestwatch.season.open import Record
from nestwatch.season.records import Action, Clutch
from nestwatch.season.telling import day_clock

_PLAIN = re.compile(r"[\w +(),.-]*\w[\w +(),.-]*")
_SENT_BY_THE_PAGE = {TOKEN_FIELD, "page", "box", "number", "seen", "sure", "held"}
_MOST_DAYS = 4000
_JOURNAL = 200
"""Entries among which the one just made is looked for."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """An entry that was refused. `form`: its kind; `sent`: what was typed; `doubtful`: taken when repeated as
    sure; `changed`: somebody else was first; `question`: what a logger's file leaves open."""

    form: str
    sent: MultiDict[str, str]
    words: str
    doubtful: bool
    changed: bool = False
    question: Question | None = None

    @property
    def typed(self) -> list[tuple[str, str]]:
        """What was typed, without what the page itself had sent."""
        told = self.sent.items(multi=True)
        return [(name, value) for name, value in told if value and name not in _SENT_BY_THE_PAGE]


@dataclass(frozen=True, slots=True)
class BoxRow:
    """One box among all. `last`: what each of its probes read last, in words."""

    box: Container
    expected: tuple[Expected, ...]
    last: tuple[str, ...]

    @property
    def is_over(self) -> bool:
        """True where eggs lay in it and what became of each is known."""
        return bool(self.expected) and not any(each.left for each in self.expected)


@dataclass(frozen=True, slots=True)
class Waiting:
    """A clutch with eggs in no box yet; `left` None where they were not counted."""

    clutch: Clutch
    left: int | None
    words: str


def box_address(label: str, **query: object) -> str:
    """A box's page. Labels that an address would change, such as `..`, go into its query."""
    if _PLAIN.fullmatch(label):
        return f"/eggs/box/{quote(label)}" + (f"?{urlencode(query)}" if query else "")
    return f"/eggs/box?{urlencode({'label': label, **query})}"


def egg_address(egg: Egg, **query: object) -> str:
    """An egg's page."""
    return f"/eggs/egg/{egg.id}" + (f"?{urlencode(query)}" if query else "")


def all_boxes(room: Room, record: Record, *, trouble: Trouble | None = None) -> str:
    """What wants doing, every box (those with eggs to come first), and eggs still to be put into one."""
    found = expectations(record, room.site)
    rows = [_row(record, box, found) for box in containers(record)]
    return _page(
        room,
        record,
        "all",
        trouble,
        alerts=alerts(record, room.site, found),
        rows=rows,
        running=[row for row in rows if not row.is_over],
        over=[row for row in rows if row.is_over],
        waiting=_waiting(record),
        wanted=request.args.get("clutch", type=int),
        box_choices=_box_choices(record),
    )


def one_box(
    room: Room, record: Record, label: str, *, trouble: Trouble | None = None, told: str | None = None
) -> str:
    """A box with all that is known of it. `told`: what its printed label says, where that was read."""
    box = container_called(record, label)
    known = expectations(record, room.site)
    found = [each for each in known if each.container.id == box.id]
    inside = eggs_in(record, box)
    weighed = weighings(record, box)
    return _page(
        room,
        record,
        "box",
        trouble,
        box=box,
        box_words=container_words(box).removeprefix(f"{box.label}: "),
        alerts=[each for each in alerts(record, room.site, known) if each.box == box.label],
        found=found,
        clutch_choices=[(each.clutch.id, each.of) for each in found],
        inside=inside,
        left=[egg for egg in inside if egg.outcome is None],
        waiting=_waiting(record),
        **_temperatures(room, record, box, inside),
        weighed=weighed,
        water=telling.water_words(box, weighed),
        checks=checks(record, box),
        hatched=hatchings(record, box),
        told=told,
    )


def one_egg(room: Room, record: Record, egg: Egg, *, trouble: Trouble | None = None) -> str:
    """An egg, what was seen of it and what became of it."""
    box = container_called(record, egg.container_label)
    settled = next((each for each in hatchings(record, box) if each.egg == egg.id), None)
    inside = eggs_in(record, box)
    place = [each.id for each in inside].index(egg.id)
    return _page(
        room,
        record,
        "egg",
        trouble,
        egg=egg,
        box=box,
        settled=settled,
        growth=growth_of(record, settled.name) if settled and settled.name else (),
        checks=[each for each in checks(record, box) if each.egg == egg.id],
        box_choices=_box_choices(record),
        before=inside[place - 1] if place else None,
        after=inside[place + 1] if place + 1 < len(inside) else None,
    )


def _page(room: Room, record: Record, name: str, trouble: Trouble | None, **values: Any) -> str:
    return show(
        room,
        record,
        f"eggs/{name}.html.j2",
        page=name,
        trouble=trouble,
        done=None if trouble else _done(record),
        tell=telling,
        box_url=box_address,
        egg_url=egg_address,
        incubators=sorted({box.incubator for box in containers(record) if box.incubator}),
        profile_choices=_profile_choices(room),
        outcomes=OUTCOMES,
        saw=SAW,
        sizes=NAMES,
        fields=FIELDS,
        choices=CHOICES,
        candling=CAUTION,
        **values,
    )


def _box_choices(record: Record) -> list[tuple[str, str]]:
    return [(box.label, box.label) for box in containers(record)]


def _profile_choices(room: Room) -> list[tuple[str, str]]:
    known = profiles(room.site)
    named = [(key, each.name) for key, each in known.items() if key != OF_THE_SITE]
    return [("", f"of the site's animal ({room.site.animal.name})"), *named]


def _done(record: Record) -> Action | None:
    """The entry that was just made, as the address names it."""
    number = request.args.get("done", type=int)
    return next((each for each in actions(record, limit=_JOURNAL) if each.id == number), None)


def _row(record: Record, box: Container, found: Sequence[Expected]) -> BoxRow:
    last = [
        _last_words(probe, series, record)
        for probe in probes_for(record, box)
        if (series := series_of(record, probe)).last is not None
    ]
    return BoxRow(box, tuple(each for each in found if each.container.id == box.id), tuple(last))


def _last_words(probe: Probe, series: Series, record: Record) -> str:
    assert series.last is not None
    return f"{series.celsius[-1]:.1f} °C at {day_clock(series.last, record.zone)}, probe {probe.name}"


def _waiting(record: Record) -> list[Waiting]:
    """Clutches of which eggs are in no box yet, the newest first."""
    found = []
    for clutch in reversed(clutches(record)):
        boxed, total = len(eggs_of(record, clutch)), clutch.eggs.total
        if total is None or boxed < total:
            of = "not counted" if total is None else f"{total - boxed} of {total} in no box yet"
            words = f"{clutch.night} dig {clutch.label}: {of}"
            found.append(Waiting(clutch, None if total is None else total - boxed, words))
    return found


def _temperatures(room: Room, record: Record, box: Container, inside: Sequence[Egg]) -> dict[str, Any]:
    """The drawing, the probes of the box and its incubator, and what was taken in."""
    now = record.clock()
    since = min((egg.put_at for egg in inside), default=box.set_up_at)
    days = request.args.get("days", type=int)
    start = since if days is None else max(since, now - timedelta(days=min(max(days, 1), _MOST_DAYS)))
    used = probes_for(record, box)
    readings = [(probe.name, series_of(record, probe)) for probe in used]
    place = (box.incubator or "").casefold()
    near = [
        probe
        for probe in probes(record)
        if probe.container == box.id or (place and (probe.incubator or "").casefold() == place)
    ]
    names = {probe.name for probe in near}
    return {
        "chart": make_chart(readings, profile_called(room.site, box.profile), start, now, room.zone),
        "days": days,
        "probes": near,
        "probe_choices": [(probe.name, probe.name) for probe in near],
        "used": {probe.id for probe in used},
        "batches": [each for each in reversed(batches(record)) if each.probe in names],
    }
