"""Nights of an invented season as a scan would have left them, without recordings, pictures and clips."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import nestwatch
from nestwatch.demo.story import Story, Visit
from nestwatch.footage.records import Account, Gap
from nestwatch.nesting.records import Dig, Stage
from nestwatch.report.nightfile import night_document, write_night
from nestwatch.report.records import PICTURE_NAMES, CameraNight, PlacedDig
from nestwatch.site.hours import night_hours
from nestwatch.site.plan import PlanMap, plan_map
from nestwatch.site.records import Camera, NightHours, Site

_WITHIN_M = 0.08
_SEARCH = timedelta(minutes=6)
_REASON = "invented: only last night of this demo has recordings"


def write_nights(site: Site, story: Story, folder: Path) -> int:
    """Write the night file of every scanned night into `folder`; returns how many."""
    plan = plan_map(site, site.cameras[0])
    if plan is None:
        raise ValueError("the demo's camera has marks")
    told = [night for night in story.nights if night not in story.unscanned]
    for night in told:
        hours, place = night_hours(site, night), folder / night.isoformat()
        place.mkdir(parents=True, exist_ok=True)
        digs = [_placed(site, plan, visit) for visit in _ranked(story, night)]
        camera = CameraNight(_account(site.cameras[0], story, hours), (), (), None)
        document = night_document(site, hours, [camera], digs, nestwatch.__version__)
        write_night(place, document)
    return len(told)


def _ranked(story: Story, night: date) -> list[Visit]:
    seen = [visit for visit in story.visits if visit.night == night and visit.seen == "scan"]
    return sorted(seen, key=lambda visit: (visit.call == "rest", -visit.likelihood))


def begins(site: Site, visit: Visit) -> datetime:
    """When digging begins, aware."""
    noon = datetime.combine(visit.night, time(12), ZoneInfo(site.timezone))
    return (noon + timedelta(hours=visit.hour)).replace(microsecond=0)


def ends(site: Site, visit: Visit) -> datetime:
    """When she leaves, aware."""
    return begins(site, visit) + timedelta(minutes=visit.dig_min + visit.lay_min + visit.cover_min)


def _stages(site: Site, visit: Visit) -> tuple[Stage, ...]:
    """Search, dig, lay and cover, as far as there are any; none of a rest."""
    if visit.call == "rest":
        return ()
    at = begins(site, visit)
    stages = [Stage("search", at - _SEARCH, at)]
    for name, minutes in (("dig", visit.dig_min), ("lay", visit.lay_min), ("cover", visit.cover_min)):
        if minutes:
            stages.append(Stage(name, at, at := at + timedelta(minutes=minutes)))  # type: ignore[arg-type]
    return tuple(stages)


def _placed(site: Site, plan: PlanMap, visit: Visit) -> PlacedDig:
    pixel = plan.to_pixel([visit.place])[0]
    spot = (float(pixel[0]), float(pixel[1]))
    start, end = begins(site, visit) - _SEARCH, ends(site, visit)
    camera = site.cameras[0]
    dig = Dig(
        camera=camera.name,
        zone=camera.zones_of("nesting")[0].name,
        start=start,
        end=end,
        start_seen=True,
        end_seen=True,
        call=visit.call,
        likelihood=visit.likelihood,
        reasons=(f"stayed {round((end - start).total_seconds() / 60)} min on one spot", _REASON),
        stages=_stages(site, visit),
        chamber=spot,
        chamber_radius_px=_WITHIN_M / plan.metres_per_pixel(spot),
        body=spot,
        shell_length_px=None,
        in_nesting_hours=True,
        before_at=None,
        during_at=start + (end - start) / 2,
        after_at=None,
    )
    return PlacedDig(
        dig, (camera.name,), visit.place, _WITHIN_M, None, dict.fromkeys(PICTURE_NAMES, None), None
    )


def _account(camera: Camera, story: Story, hours: NightHours) -> Account:
    """What was read of a night: all of it, none, or not the hour around midnight and what follows."""
    whole = (hours.end - hours.start).total_seconds()
    gaps: tuple[Gap, ...] = ()
    if hours.date in story.dark:
        gaps = (Gap(hours.start, hours.end, "no recording"),)
    elif hours.date in story.short:
        gaps = (Gap(hours.nesting[0] + timedelta(hours=3), hours.end, "no recording"),)
    lost = sum((gap.end - gap.start).total_seconds() for gap in gaps)
    return Account(camera.name, hours.start, hours.end, whole, whole - lost, gaps, (), ())
