"""What the desk shows: the morning, one night, the calendar, clutches, entries."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from flask import Blueprint, abort, request

from nestwatch.desk.morning.account import account_of
from nestwatch.desk.morning.months import month_span, next_month, weeks
from nestwatch.desk.morning.plan import plan_of
from nestwatch.desk.morning.queue import Queue, make_queue
from nestwatch.desk.morning.room import Room
from nestwatch.desk.morning.showing import MOST_ENTRIES, show
from nestwatch.report.page import MONTHS
from nestwatch.season.clutches import clutch_of
from nestwatch.season.digs import count_open, open_digs
from nestwatch.season.females import females
from nestwatch.season.journal import actions
from nestwatch.season.night_view import calendar, night_of
from nestwatch.season.open import Record
from nestwatch.season.records import Clutch, Dig, Night

MOST_WAITING = 40
"""Digs of earlier nights on one page; the page says how many more there are."""
YEARS = range(1900, 2200)
"""Nights that are shown: far from the ends of what a date can be."""
REASONS = ("another animal", "a person at work", "rain or a shadow", "the same dig as another")
"""Offered for setting aside (our own words); the keeper may write any other."""


def reading_pages(room: Room) -> Blueprint:
    """The pages that change nothing but take in what was scanned since."""
    pages = Blueprint("morning", __name__)

    @pages.get("/")
    def morning() -> str:
        with room.opened() as record:
            news = room.news(record)
            night = room.last_night()
            waiting = open_digs(record, before=night, limit=MOST_WAITING)
            more = count_open(record, before=night) - len(waiting)
            return _night_page(room, record, night, waiting, news, more=more, is_last=True)

    @pages.get("/night/<day>")
    def night(day: str) -> str:
        with room.opened() as record:
            return _night_page(room, record, a_day(day), (), room.news(record), more=0, is_last=False)

    @pages.get("/nights/")
    def this_month() -> str:
        last = room.last_night()
        return _month(room, last.year, last.month)

    @pages.get("/nights/<int:year>-<int:month>")
    def month(year: int, month: int) -> str:
        if year not in YEARS or not 1 <= month <= 12:
            abort(404)
        return _month(room, year, month)

    @pages.get("/clutch/<int:number>")
    def clutch(number: int) -> str:
        with room.opened() as record:
            dig = room.dig(record, number)
            return show(
                room,
                record,
                "morning/clutch.html.j2",
                dig=dig,
                clutch=clutch_of(record, dig.id),
                females=females(record),
            )

    @pages.get("/entries")
    def entries() -> str:
        with room.opened() as record:
            return show(room, record, "morning/entries.html.j2", actions=actions(record, limit=MOST_ENTRIES))

    return pages


def a_day(text: str) -> date:
    """A night in an address; anything else is not there."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        abort(404)
    if day.year not in YEARS or text != day.isoformat():
        abort(404)
    return day


def _night_page(
    room: Room,
    record: Record,
    day: date,
    waiting: Sequence[Dig],
    news: list[str],
    *,
    more: int,
    is_last: bool,
) -> str:
    night = night_of(record, day)
    queue = _queue(room, waiting, night)
    shown = {dig.night for dig in waiting} | {day}
    return show(
        room,
        record,
        "morning/night.html.j2",
        day=day,
        night=night,
        is_last=is_last,
        more=more,
        queue=queue,
        account=account_of(room.site, night, day),
        plan=None if queue.current is None else plan_of(room.site, queue.current),
        clutches=_clutches(record, queue),
        news=[*news, *room.missing(record, shown)],
        reasons=REASONS,
        before=day - timedelta(days=1),
        after=day + timedelta(days=1),
    )


def _queue(room: Room, waiting: Sequence[Dig], night: Night | None) -> Queue:
    own = () if night is None else night.digs
    wanted = {name: request.args.get(name, type=int) for name in ("dig", "after")}
    return make_queue(waiting, own, room.today(), room.zone, chosen=wanted["dig"], after=wanted["after"])


def _clutches(record: Record, queue: Queue) -> dict[int, Clutch]:
    """The clutches of the digs on the page, by the dig's number."""
    with_eggs = [dig for dig in (*queue.digs, *queue.rests) if dig.find and dig.find.found == "eggs"]
    found = {dig.id: clutch_of(record, dig.id) for dig in with_eggs}
    return {number: clutch for number, clutch in found.items() if clutch is not None}


def _month(room: Room, year: int, month: int) -> str:
    first, last = month_span(year, month)
    with room.opened() as record:
        room.news(record)
        return show(
            room,
            record,
            "morning/month.html.j2",
            title=f"{MONTHS[month - 1]} {year}",
            weeks=weeks(year, month, calendar(record, first, last)),
            before=next_month(year, month, -1),
            after=next_month(year, month, 1),
            last_night=room.last_night(),
        )
