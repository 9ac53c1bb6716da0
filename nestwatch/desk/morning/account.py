"""What the cameras saw of a night, from the record alone: told even when the night's folder is gone. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from nestwatch.desk.morning.bars import Bar, make_bar
from nestwatch.report.health import when
from nestwatch.report.summary import account_lines, misses_something, saw_nothing
from nestwatch.report.words import clocks_change, duration, raid, span
from nestwatch.season.records import Footage, Night
from nestwatch.site.hours import night_hours
from nestwatch.site.records import Site


@dataclass(frozen=True, slots=True)
class CameraAccount:
    """One camera's night. `read`: in words; `bar`: what was read and what not; `health`: (when, what to do).

    `zone_seen`: share of the nesting zone judged, in words, None where not measured; `picture`: whether the
    night file names a picture of it."""

    name: str
    read: str
    bar: Bar
    gaps: tuple[tuple[str, str], ...]
    health: tuple[tuple[str, str], ...]
    unreadable: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    zone_seen: str | None
    picture: bool


@dataclass(frozen=True, slots=True)
class Account:
    """What stands above the digs. `headline` is loud where something was missed in nesting hours.

    `raids`: warnings that come before everything else. `blind`: nothing at all can be said."""

    raids: tuple[str, ...]
    headline: str
    lines: tuple[str, ...]
    loud: bool
    blind: bool
    cameras: tuple[CameraAccount, ...]


def account_of(site: Site, night: Night | None, day: date) -> Account:
    """The account of a night; of one that was never scanned it says so, loudly."""
    if night is None or night.scanned_at is None:
        return _not_scanned(night, day)
    document = _document(site, night)
    offset = clocks_change(document)
    headline, *lines = account_lines(site, night_hours(site, day), document)
    return Account(
        tuple(each.get("words") or raid(each) for each in document["raids"]),
        headline,
        tuple(lines),
        misses_something(document),
        saw_nothing(document),
        tuple(_camera(site, night, footage, entry, offset) for footage, entry in _pairs(night, document)),
    )


def _not_scanned(night: Night | None, day: date) -> Account:
    watched = " It was watched by eye, below." if night is not None and night.watched else ""
    return Account(
        (),
        f"NOTHING CAN BE SAID: the night of {day} was not read from the recordings.",
        (
            f"Read it with: nestwatch night SITE --date {day}. Until then no dig listed here means "
            f"nothing.{watched}",
        ),
        True,
        True,
        (),
    )


def _pairs(night: Night, document: dict[str, Any]) -> Sequence[tuple[Footage, dict[str, Any]]]:
    return list(zip(night.footage, document["footage"], strict=True))


def _document(site: Site, night: Night) -> dict[str, Any]:
    """The parts of a night file that the account is made from."""
    zone = ZoneInfo(site.timezone)
    nesting = night.nesting or (night.start, night.end)
    return {
        "night": night.date.isoformat(),
        "from": _local(night.start, zone),
        "to": _local(night.end, zone),
        "nesting_hours": {"from": _local(nesting[0], zone), "to": _local(nesting[1], zone)},
        "raids": night.raids,
        "clocks": night.clocks,
        "not_seen": night.not_seen,
        "footage": [_footage(each) for each in night.footage],
    }


def _footage(footage: Footage) -> dict[str, Any]:
    expected, read = footage.nesting_seconds_expected, footage.nesting_seconds_read
    return {
        "camera": footage.camera,
        "nesting_seconds_expected": footage.seconds_expected if expected is None else expected,
        "nesting_seconds_read": footage.seconds_read if read is None else read,
        "looked_min": footage.looked_min,
        "gaps": footage.gaps,
        "health": footage.health,
        "unreadable": footage.unreadable,
    }


def _camera(site: Site, night: Night, footage: Footage, entry: dict[str, Any], offset: bool) -> CameraAccount:
    seen = footage.zone_seen
    return CameraAccount(
        footage.camera,
        f"{duration(entry['nesting_seconds_read'])} of {duration(entry['nesting_seconds_expected'])} of "
        "nesting time read",
        make_bar(
            night.start,
            night.end,
            ZoneInfo(site.timezone),
            [("gap", gap["from"], gap["to"]) for gap in footage.gaps],
        ),
        tuple((span(gap["from"], gap["to"], offset=offset), gap["why"]) for gap in footage.gaps),
        tuple((when(each, offset=offset), each["words"]) for each in footage.health),
        tuple((each["file"], each["why"]) for each in footage.unreadable),
        footage.notes,
        None if seen is None else f"{duration(seen['minutes'] * 60)} of {duration(seen['of_minutes'] * 60)}",
        bool(seen and seen.get("picture")),
    )


def _local(at: datetime, zone: ZoneInfo) -> str:
    return at.astimezone(zone).isoformat(timespec="seconds")
