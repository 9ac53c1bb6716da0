"""iCalendar (RFC 5545): hatch windows, checks, the week of the yolk, and when a second clutch may come.

Every event keeps its UID as long as box and clutch are in the record, so that a calendar that takes the file
in again moves events instead of doubling them.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from functools import partial
from typing import TYPE_CHECKING

from icalendar import Calendar, Event

import nestwatch
from nestwatch.season.clutches import clutches
from nestwatch.season.incubation.alerts import WEIGH
from nestwatch.season.incubation.expected import Expected, expectations
from nestwatch.season.incubation.hatchings import YOLK, hatchings
from nestwatch.season.incubation.profile import profile_called
from nestwatch.season.open import Record
from nestwatch.season.second_clutch import laying_nights, next_window, typical_days
from nestwatch.season.years import nesting_season, year_of

if TYPE_CHECKING:
    from nestwatch.site.records import Site

NAMESPACE = uuid.UUID("0d3a9c0e-6f0c-5f6e-9d53-6e6573747761")
"""Of the UIDs of this program's events (made up once, RFC 4122 version 5)."""
CANDLE_DAYS = (10, 30)
"""Days after laying on which eggs are looked through (common practice, no source)."""
NO_VET = "A plan, not advice: your vet, licence and local law come first."


def calendar(record: Record, site: Site) -> bytes:
    """The whole calendar as a file's bytes. Raises `EntryError` for a profile file that is wrong."""
    made = Calendar()
    made.add("prodid", f"-//nestwatch//nestwatch {nestwatch.__version__}//EN")
    made.add("version", "2.0")
    made.add("x-wr-calname", f"{site.name}: clutches")
    for event in _events(record, site):
        made.add_component(event)
    return bytes(made.to_ical())


def _events(record: Record, site: Site) -> Iterator[Event]:
    now = record.clock()
    found = [each for each in expectations(record, site) if each.left]
    for each in found:
        yield from _window(site, each, now)
        yield from _candling(record, site, each, now)
    for each in {each.container.id: each for each in found}.values():
        yield _weighing(record, site, each, now)
    yield from _yolks(record, site, now)
    yield from _second(record, site, now)


def _window(site: Site, each: Expected, now: datetime) -> Iterator[Event]:
    window = each.window
    if window is None:
        return
    last = window.last or window.first
    text = "\n".join([*window.reasons, *window.widened, *each.remarks, NO_VET])
    what = "Hatch window" if window.last else "Hatching from now on, the end cannot be told"
    title = f"{what}, box {each.container.label}: {each.left} eggs of {each.of}"
    yield _days(_uid(site, "window", each.container.id, each.clutch.id), title, text, window.first, last, now)


def _candling(record: Record, site: Site, each: Expected, now: datetime) -> Iterator[Event]:
    laid = each.clutch.laid_at.astimezone(record.zone).date()
    for days in CANDLE_DAYS:
        day = laid + timedelta(days=days)
        uid = _uid(site, f"candle-{days}", each.container.id, each.clutch.id)
        title = f"Candle box {each.container.label}: day {days} of {each.of}"
        yield _days(uid, title, f"Without turning the eggs. {NO_VET}", day, day, now)


def _weighing(record: Record, site: Site, each: Expected, now: datetime) -> Event:
    """Once a week from setting up to the end of the window."""
    start = (each.container.set_up_at + WEIGH).astimezone(record.zone).date()
    title = f"Weigh box {each.container.label}, top up its water"
    event = _days(
        _uid(site, "weigh", each.container.id), title, "To its mass at the start.", start, start, now
    )
    end = each.window.last if each.window else None
    event.add("rrule", {"freq": "weekly", "until": max(end or start + timedelta(weeks=12), start)})
    return event


def _yolks(record: Record, site: Site, now: datetime) -> Iterator[Event]:
    for each in hatchings(record):
        if each.outcome == "alive" and each.left_at is None:
            first = each.at.astimezone(record.zone).date()
            who = each.name or f"the hatchling of box {each.container_label} egg {each.position}"
            title = f"In the incubator until the yolk is absorbed: {who}"
            yield _days(_uid(site, "yolk", each.id), title, NO_VET, first, first + YOLK, now)


def _second(record: Record, site: Site, now: datetime) -> Iterator[Event]:
    """After each female's last clutch, where it is known after how many days another may come."""
    species = profile_called(site, None).second_clutch
    of = partial(year_of, site)
    known = clutches(record)
    laying = laying_nights(known)
    last = {each.female: each for each in sorted(known, key=lambda each: each.night) if each.female}
    for name, each in sorted(last.items()):
        year = of(each.night)
        typical = typical_days(laying, name, year, species, of)
        window = typical and next_window(each.night, typical, nesting_season(site, year))
        if typical and window:
            text = f"{typical.words} after the last, by {typical.by}, a week either side. It need not come."
            uid = _uid(site, "second", each.id)
            yield _days(uid, f"Second clutch of {name} may come", text, *window, now)


def _days(uid: str, title: str, text: str, first: date, last: date, now: datetime) -> Event:
    """An event of whole days; the standard's end is the day after the last."""
    event = Event()
    event.add("uid", uid)
    event.add("dtstamp", now)
    event.add("dtstart", first)
    event.add("dtend", last + timedelta(days=1))
    event.add("summary", title)
    event.add("description", text)
    event.add("transp", "TRANSPARENT")
    return event


def _uid(site: Site, *parts: object) -> str:
    """The same for the same site, kind and numbers of the record."""
    name = "|".join([site.name, f"{site.latitude:.4f}", f"{site.longitude:.4f}", *map(str, parts)])
    return f"{uuid.uuid5(NAMESPACE, name)}@nestwatch"
