"""The night file: one night's results as JSON (documented in docs/night-file.md)."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from nestwatch.footage.records import Account, Gap
from nestwatch.nesting.clocks import Disagreement
from nestwatch.nesting.raid import Raid
from nestwatch.nesting.records import Stage
from nestwatch.nesting.scale import SiteFit
from nestwatch.report import words
from nestwatch.report.files import write_bytes
from nestwatch.report.health import health_entries, zone_seen_entry
from nestwatch.report.records import PICTURE_NAMES, CameraNight, PlacedDig, SeenVisitor
from nestwatch.site.plan import plan_map
from nestwatch.site.records import NightHours, Point, Post, Site
from nestwatch.site.stake import best_arcs

FORMAT = "nestwatch-night/1"
NAME = "night.json"

Local = Callable[[datetime], str]


def night_document(
    site: Site,
    hours: NightHours,
    cameras: Sequence[CameraNight],
    digs: Sequence[PlacedDig],
    version: str,
    *,
    raids: Sequence[Raid] = (),
    clocks: Sequence[Disagreement] = (),
    fit: SiteFit | None = None,
) -> dict[str, Any]:
    """The night file's content, ready for `json.dumps`.

    `digs` are ranked and merged across cameras already. A camera of the site that is missing from
    `cameras` is listed as one that saw nothing all night: leaving it out would say that all was seen. The
    `dig` of a raid counts into `digs`. `fit`: by which their likelihoods were put right already.
    """
    local = _local_time(site)
    nights = [*cameras, *_missing(site, hours, cameras)]
    return {
        "format": FORMAT,
        "site": site.name,
        "night": hours.date.isoformat(),
        "version": version,
        "timezone": site.timezone,
        "from": local(hours.start),
        "to": local(hours.end),
        "nesting_hours": _span(hours.nesting[0], hours.nesting[1], local),
        "sunset": local(hours.sunset) if hours.sunset else None,
        "sunrise": local(hours.sunrise) if hours.sunrise else None,
        "raids": [_raid(raid, local) for raid in raids],
        "not_seen": [entry for night in nights for entry in _not_seen(night.account, hours, local)],
        "footage": [_footage(night, site, hours, local) for night in nights],
        "clocks": [_clock(each.ahead()) for each in clocks],
        "likelihood_fit": None if fit is None else _fit(fit, local),
        "digs": [_dig(rank, placed, site, local) for rank, placed in enumerate(digs, start=1)],
        "visitors": [
            _visitor(seen, local)
            for seen in sorted(
                (seen for night in nights for seen in night.visitors), key=lambda seen: seen.visitor.start
            )
        ],
    }


def encode(document: dict[str, Any]) -> bytes:
    """The document as UTF-8 JSON. NaN is refused (ValueError): unknown is null, and JSON has no NaN."""
    return (json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def write_night(folder: Path, document: dict[str, Any]) -> Path:
    """Write `night.json` into the night's `folder`, whole or not at all; raises `OutputError`."""
    path = folder / NAME
    write_bytes(path, encode(document))
    return path


def gaps_within(account: Account, start: datetime, end: datetime) -> list[Gap]:
    """The parts of a camera's gaps that lie between two instants."""
    clipped = (Gap(max(gap.start, start), min(gap.end, end), gap.why) for gap in account.gaps)
    return [gap for gap in clipped if gap.start < gap.end]


def tape_from(place: Point, posts: Sequence[Post]) -> list[tuple[str, float]]:
    """Up to three posts and their distances (m) to `place`, first the two of the marking sheet.

    The third, the nearest of the rest, tells on which side of the line between the two it lies. Empty with
    fewer than two posts.
    """
    arcs = best_arcs(posts, place)
    if arcs is None:
        return []
    chosen = {arcs.first, arcs.second}
    rest = sorted((math.dist(place, post.at), post.name) for post in posts if post.name not in chosen)
    third = [(name, reach) for reach, name in rest[:1]]
    return [(arcs.first, arcs.first_m), (arcs.second, arcs.second_m), *third]


def _local_time(site: Site) -> Local:
    zone = ZoneInfo(site.timezone)
    return lambda instant: instant.astimezone(zone).isoformat(timespec="seconds")


def _missing(site: Site, hours: NightHours, cameras: Sequence[CameraNight]) -> list[CameraNight]:
    """An empty night for every camera of the site that no result came from."""
    present = {night.account.camera for night in cameras}
    seconds = (hours.end - hours.start).total_seconds()
    gap = Gap(hours.start, hours.end, "this camera was not read")
    return [
        CameraNight(Account(camera.name, hours.start, hours.end, seconds, 0.0, (gap,), (), ()), (), (), None)
        for camera in site.cameras
        if camera.name not in present
    ]


def _span(start: datetime, end: datetime, local: Local) -> dict[str, Any]:
    return {"from": local(start), "to": local(end)}


def _not_seen(account: Account, hours: NightHours, local: Local) -> list[dict[str, Any]]:
    """What a camera did not see inside nesting hours."""
    return [
        {"camera": account.camera, **_span(gap.start, gap.end, local), "why": gap.why}
        for gap in gaps_within(account, *hours.nesting)
    ]


def _footage(night: CameraNight, site: Site, hours: NightHours, local: Local) -> dict[str, Any]:
    account = night.account
    nesting = (hours.nesting[1] - hours.nesting[0]).total_seconds()
    lost = sum((gap.end - gap.start).total_seconds() for gap in gaps_within(account, *hours.nesting))
    return {
        "camera": account.camera,
        **_span(account.start, account.end, local),
        "seconds_expected": account.seconds_expected,
        "seconds_read": account.seconds_read,
        "nesting_seconds_expected": nesting,
        "nesting_seconds_read": nesting - lost,
        "looked_min": night.looked_min,
        "zone_seen": zone_seen_entry(night, hours),
        "health": health_entries(
            night.health, local, _cm_per_px(site, account.camera) if night.health else None
        ),
        "gaps": [{**_span(gap.start, gap.end, local), "why": gap.why} for gap in account.gaps],
        "unreadable": [{"file": each.file, "why": each.why} for each in account.unreadable],
        "notes": list(account.notes),
    }


def _cm_per_px(site: Site, camera: str) -> float | None:
    """Centimetres on the ground to a picture pixel in the middle of the nesting zones; None without marks."""
    found = next((each for each in site.cameras if each.name == camera), None)
    plan = None if found is None else plan_map(site, found)
    corners = [] if found is None else [p for zone in found.zones_of("nesting") for p in zone.outline]
    if plan is None or not corners:
        return None
    x, y = (math.fsum(each) / len(corners) for each in zip(*corners, strict=True))
    metres = plan.metres_per_pixel((x, y))
    return 100 * metres if math.isfinite(metres) else None


def _dig(rank: int, placed: PlacedDig, site: Site, local: Local) -> dict[str, Any]:
    dig = placed.dig
    return {
        "rank": rank,
        "camera": dig.camera,
        "cameras": list(placed.cameras),
        "zone": dig.zone,
        **_span(dig.start, dig.end, local),
        "from_seen": dig.start_seen,
        "to_seen": dig.end_seen,
        "in_nesting_hours": dig.in_nesting_hours,
        "call": dig.call,
        "likelihood": round(dig.likelihood, 3),
        "likelihood_as_built": None if dig.likelihood_as_built is None else round(dig.likelihood_as_built, 3),
        "reasons": list(dig.reasons),
        "stages": [_stage(stage, local) for stage in dig.stages],
        "pixel": list(dig.chamber),
        "within_px": dig.chamber_radius_px,
        "plan_m": None if placed.plan_m is None else list(placed.plan_m),
        "within_m": placed.within_m,
        "tape": [{"post": post, "m": round(far, 3)} for post, far in _tape(placed, site)],
        "shell_length_cm": placed.shell_length_cm,
        "pictures": {name: placed.pictures.get(name) for name in PICTURE_NAMES},
        "clip": placed.clip,
    }


def _raid(raid: Raid, local: Local) -> dict[str, Any]:
    entry = {
        "camera": raid.camera,
        "what": raid.what,
        **_span(raid.start, raid.end, local),
        "nest": raid.nest,
        "dig": None if raid.dig is None else raid.dig + 1,
        "pixel": list(raid.pixel),
        "plan_m": None if raid.plan_m is None else list(raid.plan_m),
    }
    return {**entry, "words": words.raid(entry)}


def _clock(found: Disagreement) -> dict[str, Any]:
    entry = {
        "camera": found.camera,
        "other": found.other,
        "ahead_s": round(found.ahead_s, 1),
        "within_s": round(found.within_s, 1),
        "events": found.events,
        "by": found.by,
    }
    return {**entry, "words": words.clock_note(entry) if found.worth_telling else None}


def _fit(fit: SiteFit, local: Local) -> dict[str, Any]:
    entry = {
        "slope": fit.scale.slope,
        "offset": fit.scale.offset,
        "finds": fit.finds,
        "with_eggs": fit.with_eggs,
        "at": local(fit.at),
    }
    return {**entry, "words": words.likelihood_note(entry)}


def _stage(stage: Stage, local: Local) -> dict[str, Any]:
    return {"stage": stage.stage, **_span(stage.start, stage.end, local)}


def _tape(placed: PlacedDig, site: Site) -> list[tuple[str, float]]:
    camera = next((camera for camera in site.cameras if camera.name == placed.dig.camera), None)
    pen = site.pen_of(camera) if camera is not None else None
    if placed.plan_m is None or pen is None:
        return []
    return tape_from(placed.plan_m, pen.posts)


def _visitor(seen: SeenVisitor, local: Local) -> dict[str, Any]:
    visitor = seen.visitor
    return {
        "camera": visitor.camera,
        **_span(visitor.start, visitor.end, local),
        "what": visitor.what,
        "pixel": None if visitor.place is None else list(visitor.place),
        "picture": seen.picture,
    }
