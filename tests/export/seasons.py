"""A record with three nights of one season and one of the year before, for the exports to read."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from nestwatch.season.by_hand import HandDig, add_dig
from nestwatch.season.clutches import change_clutch
from nestwatch.season.digs import dig_called
from nestwatch.season.females import add_female
from nestwatch.season.finds import enter_find
from nestwatch.season.nights import take_in
from nestwatch.season.open import Record, open_record
from nestwatch.season.records import Eggs
from nestwatch.season.watched import add_watched
from nestwatch.site.file import load_site
from nestwatch.site.records import Site
from tests.season.records import night_file
from tests.site.sites import GOOD, written

NOW = datetime(2026, 7, 1, 10, 0, tzinfo=UTC)
PLACE = (47.2184, 1.5536)
"""Invented, and finer than what may leave the house."""
SECRET = "under the lime tree, Rosa's garden"
"""A note that must not leave the house."""


def site_in(folder: Path, *, latitude: float = PLACE[0], longitude: float = PLACE[1]) -> Site:
    """The site file of the tests, at another place, with a second camera."""
    camera = GOOD[GOOD.index("[[camera]]") :]
    text = GOOD + camera.replace('"sandbank"', '"shed side"').replace("footage/sandbank", "footage/shed")
    text = text.replace("latitude = 47.2", f"latitude = {latitude}")
    return load_site(written(folder, text.replace("longitude = 1.6", f"longitude = {longitude}")))


def dig(rank: int, night: str, start: str, end: str, call: str = "nest", **more: Any) -> dict[str, Any]:
    """A dig of a night file; `start` and `end` are clock times of that evening."""
    x = 0.5 + rank
    return {
        "rank": rank,
        "camera": "sandbank",
        "cameras": ["sandbank"],
        "zone": "sand bank",
        "from": f"{night}T{start}:00+02:00",
        "to": f"{night}T{end}:00+02:00",
        "call": call,
        "likelihood": round(0.97 - 0.17 * rank, 2),
        "reasons": ["dug for 70 min", 'a "rest", then still'],
        "stages": [{"stage": "lay", "from": f"{night}T{start}:30+02:00", "to": f"{night}T{end}:00+02:00"}],
        "pixel": [100 * x, 72.0],
        "within_px": 12.0,
        "plan_m": [x, 0.7213],
        "within_m": 0.06,
        "tape": [],
        "shell_length_cm": 16.1,
        "in_nesting_hours": True,
        "pictures": {"before": None, "during": None, "after": None, "overview": None},
        "clip": None,
        **more,
    }


def footage(night: str, after: str, camera: str, gaps: Sequence[tuple[str, str]] = ()) -> dict[str, Any]:
    """A camera's account; `gaps` are ISO instants."""
    spans = [(datetime.fromisoformat(a), datetime.fromisoformat(b)) for a, b in gaps]
    lost = sum((b - a).total_seconds() for a, b in spans)
    return {
        "camera": camera,
        "from": f"{night}T16:00:00+02:00",
        "to": f"{after}T09:00:00+02:00",
        "seconds_expected": 61200.0,
        "seconds_read": 61200.0 - lost,
        "nesting_seconds_expected": 32400.0,
        "nesting_seconds_read": 32400.0 if lost < 61200 else 0.0,
        "looked_min": None,
        "zone_seen": None,
        "health": [],
        "gaps": [{"from": a, "to": b, "why": "no recording"} for a, b in gaps],
        "unreadable": [],
        "notes": [],
    }


def take(record: Record, site: Site, content: dict[str, Any]) -> None:
    folder = site.path.parent / "nights" / content["night"]
    (folder / "pictures").mkdir(parents=True, exist_ok=True)
    for entry in content["digs"]:
        for inside in [*entry["pictures"].values(), entry["clip"]]:
            if inside is not None and "gone" not in inside:
                (folder / inside).parent.mkdir(exist_ok=True)
                (folder / inside).write_bytes(inside.encode())
    (folder / "night.json").write_text(json.dumps(content), encoding="utf-8")
    take_in(record, site, content, folder)


def a_season(site: Site) -> Record:
    """The open record. Close it.

    12 June: a nest with eggs, a trial found empty, an unclear one, a rest; camera "shed side" was off all
    night. 13 June: recorded from 18:00 to 08:00 with half an hour missing, no dig. 14 June: by hand only.
    """
    record = open_record(site, clock=lambda: NOW)
    pictures = {
        "before": "pictures/sandbank_205500_150x72_before.jpg",
        "during": "pictures/sandbank_221500_150x72_during.jpg",
        "after": "pictures/gone_after.jpg",
        "overview": None,
    }
    clip = "clips/sandbank_211400_150x72.mp4"
    digs = [
        dig(1, "2026-06-12", "21:14", "23:18", pictures=pictures, clip=clip),
        dig(2, "2026-06-12", "19:00", "19:40", "trial"),
        dig(3, "2026-06-12", "20:00", "20:30", "unclear"),
        dig(4, "2026-06-12", "18:10", "18:40", "rest"),
    ]
    off = [("2026-06-12T16:00:00+02:00", "2026-06-13T09:00:00+02:00")]
    cameras = [
        footage("2026-06-12", "2026-06-13", "sandbank"),
        footage("2026-06-12", "2026-06-13", "shed side", off),
    ]
    take(record, site, night_file(digs, "2026-06-12", cameras))
    gaps = [
        ("2026-06-13T16:00:00+02:00", "2026-06-13T18:00:00+02:00"),
        ("2026-06-13T22:00:00+02:00", "2026-06-13T22:30:00+02:00"),
        ("2026-06-14T08:00:00+02:00", "2026-06-14T09:00:00+02:00"),
    ]
    part = [footage("2026-06-13", "2026-06-14", "sandbank", gaps)]
    take(record, site, night_file([], "2026-06-13", part))
    before = [footage("2025-06-20", "2025-06-21", "sandbank")]
    old = [dig(1, "2025-06-20", "21:00", "23:00")]
    take(record, site, night_file(old, "2025-06-20", before))
    _entries(record, site)
    return record


def _entries(record: Record, site: Site) -> None:
    night = date(2026, 6, 12)
    add_female(record, site, "NA", {"marks": "left 2, right 9", "shell_length_cm": 16.4, "note": SECRET})
    enter_find(record, site, dig_called(record, night, "1"), "eggs", eggs=Eggs(whole=8, cracked=1))
    lifted = datetime(2026, 6, 13, 6, 0, tzinfo=UTC)
    change_clutch(
        record,
        site,
        dig_called(record, night, "1"),
        {"female": "NA", "lifted_at": lifted, "note": f'=SUM(1,2) "{SECRET}"\nsecond line'},
    )
    enter_find(record, site, dig_called(record, night, "2"), "empty")
    start, end = datetime(2026, 6, 14, 19, 0, tzinfo=UTC), datetime(2026, 6, 14, 20, 0, tzinfo=UTC)
    told = HandDig("eye", start, end, pen="sand pen", plan_m=(1.0, 1.0), note=SECRET)
    add_dig(record, site, date(2026, 6, 14), told)
    add_watched(record, site, date(2026, 6, 14), start, end, who="Rosa Example", note=SECRET)
