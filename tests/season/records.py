"""A site in a temporary folder, night files of it, and its record with a clock that stands still."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from nestwatch.season.changes import ScanChanges
from nestwatch.season.nights import take_in
from nestwatch.season.open import Record, open_record
from nestwatch.site.records import Site
from tests.marking.nights import a_site

NIGHT = date(2026, 6, 12)
MORNING = datetime(2026, 6, 13, 5, 0, tzinfo=UTC)
"""07:00 at the site."""


def site_in(folder: Path) -> Site:
    return replace(a_site(), path=folder / "site.toml")


def record_in(folder: Path, at: datetime = MORNING) -> Record:
    return open_record(site_in(folder), clock=lambda: at)


def dig_entry(
    rank: int = 1,
    start: str = "21:14",
    end: str = "23:18",
    place: tuple[float, float] = (2.70, 0.72),
    call: str = "nest",
) -> dict[str, Any]:
    """A dig of the night file; clock times of the evening of `NIGHT`."""
    return {
        "rank": rank,
        "camera": "sandbank",
        "cameras": ["sandbank"],
        "zone": "sand bank",
        "from": f"2026-06-12T{start}:00+02:00",
        "to": f"2026-06-12T{end}:00+02:00",
        "call": call,
        "likelihood": 0.93,
        "reasons": ["dug for 70 min"],
        "stages": [
            {"stage": "lay", "from": f"2026-06-12T{start}:30+02:00", "to": f"2026-06-12T{end}:00+02:00"}
        ],
        "pixel": [100 * place[0], 100 * place[1]],
        "within_px": 12.0,
        "plan_m": list(place),
        "within_m": 0.06,
        "tape": [],
        "shell_length_cm": 16.1,
        "in_nesting_hours": True,
        "pictures": {"before": None, "during": "pictures/1.jpg", "after": None, "overview": None},
        "clip": None,
    }


def night_file(
    digs: Sequence[dict[str, Any]],
    night: str = "2026-06-12",
    cameras: Sequence[dict[str, Any]] | None = None,
) -> dict[str, Any]:
    """A night file; `cameras` are its footage entries, by default one camera's."""
    after = (date.fromisoformat(night) + timedelta(days=1)).isoformat()
    return {
        "format": "nestwatch-night/1",
        "site": "Linden Fen",
        "night": night,
        "version": "0.1.0",
        "from": f"{night}T16:00:00+02:00",
        "to": f"{after}T09:00:00+02:00",
        "nesting_hours": {"from": f"{night}T18:00:00+02:00", "to": f"{after}T03:00:00+02:00"},
        "raids": [],
        "clocks": [],
        "not_seen": [],
        "footage": [_sandbank(night, after)] if cameras is None else list(cameras),
        "digs": list(digs),
    }


def _sandbank(night: str, after: str) -> dict[str, Any]:
    return {
        "camera": "sandbank",
        "from": f"{night}T16:00:00+02:00",
        "to": f"{after}T09:00:00+02:00",
        "seconds_expected": 61200.0,
        "seconds_read": 57600.0,
        "nesting_seconds_expected": 32400.0,
        "nesting_seconds_read": 28800.0,
        "looked_min": 470.0,
        "zone_seen": None,
        "health": [{"what": "fogged", "from": "a", "to": "b", "words": "fog"}],
        "gaps": [{"from": "a", "to": "b", "why": "no recording"}],
        "unreadable": [],
        "notes": [],
    }


def written_night(folder: Path, digs: Sequence[dict[str, Any]], night: str = "2026-06-12") -> Path:
    """The night's folder with its night file."""
    place = folder / "nights" / night
    place.mkdir(parents=True, exist_ok=True)
    (place / "night.json").write_text(json.dumps(night_file(digs, night)), encoding="utf-8")
    return place


def scanned(record: Record, folder: Path, digs: Sequence[dict[str, Any]]) -> ScanChanges:
    """Write the night file and take it in."""
    place = written_night(folder, digs)
    return take_in(record, site_in(folder), night_file(digs), place)
