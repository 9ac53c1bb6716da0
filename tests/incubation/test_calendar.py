"""The calendar taken apart by another library (vobject), against RFC 5545."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
import vobject

from nestwatch.season.clutches import change_clutch
from nestwatch.season.digs import dig_by_id
from nestwatch.season.females import add_female
from nestwatch.season.incubation.calendar import calendar
from nestwatch.season.incubation.containers import add_container
from nestwatch.season.incubation.eggs import put_eggs
from nestwatch.season.incubation.hatchings import settle_egg
from nestwatch.season.open import Record
from nestwatch.season.records import Clutch
from nestwatch.site.records import Site
from tests.incubation.seasons import a_season, a_site, later

Season = tuple[Record, Clutch, Site]


@pytest.fixture
def season(tmp_path: Path) -> Iterator[Season]:
    record, clutch = a_season(tmp_path)
    site = a_site(tmp_path)
    with record:
        add_female(record, site, "Ada; the old one, Žofie", {})
        change_clutch(record, site, dig_by_id(record, clutch.dig), {"female": "Ada; the old one, Žofie"})
        add_container(record, site, "A1", {})
        put_eggs(record, clutch, "A1", 9)
        yield record, clutch, site


def events(season: Season) -> dict[str, Any]:
    """By title, as vobject reads them."""
    record, _, site = season
    parsed = vobject.readOne(calendar(record, site).decode("utf-8"))
    return {event.summary.value: event for event in parsed.vevent_list}


def test_every_event_is_there_with_its_days(season: Season) -> None:
    found = events(season)
    window = found["Hatch window, box A1: 9 eggs of 2026-06-12 dig 1"]
    assert (window.dtstart.value, window.dtend.value) == (date(2026, 8, 6), date(2026, 8, 27)), (
        "days 55 to 75; RFC 5545: the end of whole days is the day after the last"
    )
    assert "[no source]" in window.description.value
    assert found["Candle box A1: day 10 of 2026-06-12 dig 1"].dtstart.value == date(2026, 6, 22)
    weekly = found["Weigh box A1, top up its water"]
    assert weekly.dtstart.value == date(2026, 6, 20)
    assert weekly.rrule.value == "FREQ=WEEKLY;UNTIL=20260826"


def test_a_second_clutch_is_looked_for_around_24_days(season: Season) -> None:
    """Emys: six females nested twice, about 24 d apart (Bona et al. 2012, as read in an abstract)."""
    found = events(season)["Second clutch of Ada; the old one, Žofie may come"]
    assert (found.dtstart.value, found.dtend.value) == (date(2026, 6, 29), date(2026, 7, 14))
    assert found.dtstart.value <= date(2026, 6, 12) + timedelta(days=24) < found.dtend.value
    assert "Bona et al. 2012" in found.description.value


def test_uids_stay_when_days_move(season: Season) -> None:
    record, clutch, site = season
    before = {title: event.uid.value for title, event in events(season).items()}
    later(record, days=1)
    change_clutch(
        record,
        site,
        dig_by_id(record, clutch.dig),
        {"laid_at": clutch.laid_at - timedelta(hours=11), "whole": 8, "dented": 1},
    )
    after = {title: event.uid.value for title, event in events(season).items()}
    assert after == before
    assert len(set(before.values())) == len(before)


def test_hatchlings_are_kept_a_week(season: Season) -> None:
    record, _, _ = season
    later(record, days=60)
    settle_egg(record, "A1", "1", {"outcome": "alive", "name": "E1"})
    found = events(season)["In the incubator until the yolk is absorbed: E1"]
    assert (found.dtend.value - found.dtstart.value).days == 8, "the day itself and seven after"


def test_the_form_of_the_lines(season: Season) -> None:
    """RFC 5545, 3.1: lines end in CR LF and hold at most 75 octets; 3.6: PRODID and VERSION are there."""
    record, _, site = season
    content = calendar(record, site)
    lines = content.split(b"\r\n")
    assert lines[-1] == b""
    assert max(len(line) for line in lines) <= 75
    assert not any(b"\n" in line for line in lines)
    assert {b"BEGIN:VCALENDAR", b"VERSION:2.0"} <= set(lines)
    events_told = content.count(b"BEGIN:VEVENT")
    assert events_told == content.count(b"\r\nUID:") == content.count(b"\r\nDTSTAMP:")
