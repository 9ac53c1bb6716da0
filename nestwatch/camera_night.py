"""One camera's night, read top to bottom: find the footage, skim it, find digs, make their pictures.

Runs in a process of its own, so everything in and out can be pickled.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import cv2
import numpy as np
from numpy.typing import NDArray

import nestwatch
from nestwatch.footage import Skim, find_footage, read_burst
from nestwatch.footage.records import Account, Footage
from nestwatch.ground.collect import Collector
from nestwatch.ground.glare import outside_glare, without_glare
from nestwatch.ground.health import examine
from nestwatch.ground.health_records import Health
from nestwatch.ground.records import CELL, Bins, Blob, Grid
from nestwatch.nesting.activity import Activity, activity_of
from nestwatch.nesting.digs import find_digs
from nestwatch.nesting.elsewhere import elsewhere
from nestwatch.nesting.hanging import Hanging
from nestwatch.nesting.look import BurstReader, BurstView, Context
from nestwatch.nesting.rank import ranked
from nestwatch.nesting.records import Dig, Stop, Visitor
from nestwatch.nesting.stops import StopSpan
from nestwatch.nesting.visitors import Passage, find_passages
from nestwatch.report.clip import stay_clip
from nestwatch.report.health_picture import seen_picture
from nestwatch.report.names import picture_stem
from nestwatch.report.pictures import dig_pictures, visitor_picture
from nestwatch.report.records import PICTURE_NAMES, CameraNight, PlacedDig, SeenVisitor, ZoneSeen
from nestwatch.report.store import load_camera, save_camera
from nestwatch.site.plan import PlanMap, plan_map
from nestwatch.site.rear import rear_on_plan
from nestwatch.site.records import Animal, Camera, NightHours, Point, Site, ZoneKind
from nestwatch.site.zones import inside, zone_mask

METHOD = 20
"""Raised whenever the same footage may give other results, so that kept results are done again."""
SKIM_EVERY_S = 4.0
_SHELL_SKIM_PX = 18.0
_USUAL_WIDTH = 640
_WIDEST = 1280
_MOST_BYTES = 600e6  # of a night's half-minute pictures; a process takes about a third more
_MARGIN_SHELLS = 3.5
_BURST_REACH_SHELLS = 3.0
_BURST_SHELL_PX = 24.0
_BURST_FPS = 6.0
_VISITOR_PICTURES = 12
_DIG_PICTURES = 30  # each set decodes several stretches; a night with more is wind, not turtles

Tell = Callable[[float, float, str], None]
"""Progress: (done, of, what is being done)."""


@dataclass(frozen=True, slots=True)
class Job:
    """What one camera's process needs. `folder`: the night's folder."""

    site: Site
    camera: Camera
    hours: NightHours
    folder: Path
    trust_mtime: bool
    fresh: bool


def watch(job: Job, tell: Tell) -> CameraNight:
    """One camera's finished night; kept results are used where footage and settings are the same."""
    cv2.setNumThreads(1)
    footage = find_footage(job.camera, job.hours, job.site.timezone, trust_mtime=job.trust_mtime)
    key = _key(job, footage)
    kept = None if job.fresh else load_camera(job.folder, job.camera.name, key)
    if kept is not None:
        return kept
    plan = plan_map(job.site, job.camera)
    collector, account = _skim(job, footage, plan, tell)
    bins = without_glare(collector.finish())
    context = _context(job, bins.grid)
    health = examine(bins, context.wanted)
    zone_seen = _zone_seen(job, footage, bins, health)
    shown = bins.only(~health.blind)
    visitors, hanging = _visitors(job, collector, bins)
    moved = elsewhere(collector.blobs, [at for at, _ in collector.levels])
    context = replace(context, fog=_fog(health), hanging=hanging, moved=moved)
    digs = find_digs(shown, context, _burst_reader(footage, bins.grid, job.camera, tell))
    night = CameraNight(
        account=account,
        digs=tuple(
            _placed(job, footage, plan, dig, tell, shown=number < _DIG_PICTURES)
            for number, dig in enumerate(ranked(digs))
        ),
        visitors=tuple(
            _pictured(job, footage, visitor, shown=number < _VISITOR_PICTURES)
            for number, visitor in enumerate(visitors)
        ),
        looked_min=zone_seen.minutes,
        health=health.findings,
        zone_seen=zone_seen,
        activity=_activity(job, collector, bins),
    )
    save_camera(job.folder, night, key)
    return night


def _key(job: Job, footage: Footage) -> str:
    """Names what the result is made from: version, settings, and each file's name, size and time.

    Other cameras' settings are left out: redrawing one outline does not have every camera done again. So is
    who is told afterwards.
    """
    site = replace(job.site, cameras=(), notify=None)
    files = [
        (str(path), path.stat().st_size, path.stat().st_mtime_ns)
        for recording in footage.recordings
        for path in recording.paths
    ]
    parts = [nestwatch.__version__, METHOD, asdict(site), asdict(job.camera), asdict(job.hours), files]
    parts.append([asdict(entry) for entry in footage.unreadable])
    return hashlib.sha256(json.dumps(parts, default=str, sort_keys=True).encode()).hexdigest()


def _skim(job: Job, footage: Footage, plan: PlanMap | None, tell: Tell) -> tuple[Collector, Account]:
    shell = _shell_in_footage(job, footage, plan)
    start, hours = footage.start.timestamp(), (footage.end - footage.start).total_seconds() / 3600
    step = _bin_seconds(footage)
    width, grid = _affordable(job.camera, footage, shell, bins=hours * 3600 / step)
    grid = replace(grid, shell_ends=shell_ends(job.site, job.camera, plan, grid))
    skim = Skim(footage, every_s=SKIM_EVERY_S, width=width)
    collector = Collector(grid, start=start, hours=hours, step_s=step)
    for count, frame in enumerate(skim):
        collector.add(frame)
        if count % 30 == 0:
            tell(frame.at - start, hours * 3600, "reading")
    return collector, skim.account()


def _affordable(camera: Camera, footage: Footage, shell: float, *, bins: float) -> tuple[int, Grid]:
    """(columns to skim, window): as fine as wanted, coarser where a night of `bins` would fill the memory."""
    width = _skim_width(footage, shell)
    grid = make_grid(camera, footage, width, shell * width / footage.width)
    share = _MOST_BYTES / max(1.0, grid.rows * grid.columns * bins)
    if share < 1:
        width = int(width * math.sqrt(share))
        grid = make_grid(camera, footage, width, shell * width / footage.width)
    return width, grid


def _bin_seconds(footage: Footage) -> float:
    """Half a minute, or long enough for about four pictures where stills are taken further apart."""
    gaps = [np.diff(r.still_times) for r in footage.recordings if len(r.still_times) > 1]
    return max(30.0, 4.0 * float(np.median(np.concatenate(gaps)))) if gaps else 30.0


def _shell_in_footage(job: Job, footage: Footage, plan: PlanMap | None) -> float:
    """Expected shell length in footage pixels; without marks or zones, that of a usual picture."""
    corners = [p for zone in job.camera.zones_of("nesting") for p in zone.outline]
    usual = _SHELL_SKIM_PX * footage.width / _USUAL_WIDTH
    if plan is None or not corners:
        return usual
    low, high = job.site.animal.shell_length_cm
    centre = (float(np.mean([p[0] for p in corners])), float(np.mean([p[1] for p in corners])))
    shell = plan.shell_pixels(centre, (low + high) / 200) * (footage.scale[0] + footage.scale[1]) / 2
    return shell if math.isfinite(shell) else usual


def _skim_width(footage: Footage, shell: float) -> int:
    """Columns to reduce to: the shell about 18 px long, never enlarged, bounded for memory."""
    wanted = round(footage.width * _SHELL_SKIM_PX / max(shell, 1.0))
    return max(1, min(footage.width, _WIDEST, max(320, wanted)))


def make_grid(camera: Camera, footage: Footage, width: int, shell_px: float) -> Grid:
    """The window of the skim picture that is analysed: the nesting zones and some ground around them."""
    rows = max(1, round(footage.height * width / footage.width))
    to_picture = (camera.picture[0] / width, camera.picture[1] / rows)
    points = np.array([p for zone in camera.zones_of("nesting") for p in zone.outline], float)
    if not len(points):
        points = np.array([(0.0, 0.0), camera.picture])
    low = points.min(axis=0) / to_picture - _MARGIN_SHELLS * shell_px
    high = points.max(axis=0) / to_picture + _MARGIN_SHELLS * shell_px
    left, top = (int(max(0, v)) for v in low)
    right, bottom = int(min(width, high[0] + 1)), int(min(rows, high[1] + 1))
    side = 2 * CELL
    height, breadth = (bottom - top) // side * side, (right - left) // side * side
    return Grid(top, left, height, breadth, to_picture, shell_px)


def shell_ends(site: Site, camera: Camera, plan: PlanMap | None, grid: Grid) -> tuple[float, float] | None:
    """Expected shell length in skim pixels at the window's first and last row, by the line through two rows
    of the nesting zones; None without marks or where a row lies beyond the horizon they give."""
    points = np.array([p for zone in camera.zones_of("nesting") for p in zone.outline], float)
    if plan is None or not len(points):
        return None
    length_m = sum(site.animal.shell_length_cm) / 200
    low, high = np.percentile(points[:, 1], (20, 80))
    middle = float(points[:, 0].mean())
    seen = [plan.shell_pixels((middle, float(y)), length_m) / grid.to_picture[0] for y in (low, high)]
    rows = [grid.window_point(middle, float(y))[0] for y in (low, high)]
    if not np.isfinite(seen).all() or rows[1] - rows[0] < 1.0:
        return None
    slope = (seen[1] - seen[0]) / (rows[1] - rows[0])
    ends = [seen[0] + slope * (row - rows[0]) for row in (0.0, grid.rows - 1.0)]
    first, last = (float(np.clip(end, 0.4 * grid.shell_px, 2.5 * grid.shell_px)) for end in ends)
    return first, last


def _context(job: Job, grid: Grid) -> Context:
    zones = job.camera.zones_of("nesting")
    wanted, ignored = _zone_pixels(job, grid, "nesting"), _zone_pixels(job, grid, "ignore")
    window = np.s_[grid.top : grid.top + grid.rows, grid.left : grid.left + grid.columns]

    def zone_of(point: Point) -> str:
        return next((zone.name for zone in zones if inside(zone, point)), zones[0].name if zones else "")

    nesting = (job.hours.nesting[0].timestamp(), job.hours.nesting[1].timestamp())
    return Context(job.camera.name, (wanted & ~ignored)[window], zone_of, nesting)


def _fog(health: Health) -> tuple[tuple[float, float], ...]:
    """Stretches, POSIX seconds, in which the whole picture was weakened."""
    spans = [f for f in health.findings if f.what in ("fogged", "blurred", "glare")]
    return tuple((finding.start.timestamp(), finding.end.timestamp()) for finding in spans)


def _zone_pixels(job: Job, grid: Grid, kind: ZoneKind) -> NDArray[np.bool_]:
    """Which pixels of the whole skim picture lie in zones of a kind."""
    size = [round(side / step) for side, step in zip(job.camera.picture, grid.to_picture, strict=True)]
    return zone_mask(job.camera.zones_of(kind), job.camera.picture, (size[0], size[1]))


def _burst_reader(footage: Footage, grid: Grid, camera: Camera, tell: Tell) -> BurstReader:
    skim_to_footage = grid.to_picture[0] * footage.scale[0], grid.to_picture[1] * footage.scale[1]
    reduce = max(1.0, grid.shell_px * skim_to_footage[0] / _BURST_SHELL_PX)

    def read(at: float, seconds: float, row: float, column: float) -> BurstView | None:
        tell(1.0, 1.0, "looking closely")
        x, y = (
            (v + edge + 0.5) * k
            for v, edge, k in zip((column, row), (grid.left, grid.top), skim_to_footage, strict=True)
        )
        reach = _BURST_REACH_SHELLS * grid.shell_at(row)
        far = reach * skim_to_footage[0], reach * skim_to_footage[1]
        box = (
            max(0, int(x - far[0])),
            max(0, int(y - far[1])),
            min(footage.width, int(x + far[0]) + 1),
            min(footage.height, int(y + far[1]) + 1),
        )
        start = datetime.fromtimestamp(at, UTC)
        burst = read_burst(footage, start, seconds, fps=_BURST_FPS, box=box, width_scale=reduce)
        if not len(burst.times):
            return None
        spot = (y - burst.origin[1]) / burst.scale - 0.5, (x - burst.origin[0]) / burst.scale - 0.5
        return BurstView(burst, spot, skim_to_footage[0] / burst.scale)

    return read


def _visitors(job: Job, collector: Collector, bins: Bins) -> tuple[list[Visitor], Hanging]:
    """Who came by, and what hung before the lens instead."""
    grid, seen = collector.grid, outside_glare(collector.blobs, bins)
    ignored = _zone_pixels(job, grid, "ignore")
    last = ignored.shape[0] - 1, ignored.shape[1] - 1
    blobs = [b for b in seen if not ignored[min(int(b.row), last[0]), min(int(b.column), last[1])]]
    out = []
    passages, hanging = find_passages(
        blobs,
        collector.levels,
        grid.shell_px,
        step_s=SKIM_EVERY_S,
        shell_at=lambda row: grid.shell_at(row - grid.top),
    )
    for passage in passages:
        place = None
        if np.isfinite(passage.row):
            place = _place(passage, grid)
        start, end = (datetime.fromtimestamp(at, UTC) for at in (passage.start, passage.end))
        end = max(end, start + timedelta(seconds=1))
        stops = tuple(_stop(stop, grid) for stop in passage.stops)
        out.append(Visitor(job.camera.name, start, end, passage.what, place, stops))
    return out, hanging


def _stop(stop: StopSpan, grid: Grid) -> Stop:
    start, end = (datetime.fromtimestamp(at, UTC) for at in (stop.start, stop.end))
    return Stop(start, end, _place(stop, grid))


def _activity(job: Job, collector: Collector, bins: Bins) -> Activity | None:
    """Movement in the nesting zones; the light's switches, at each camera's own time, are left out."""
    zones = _zone_pixels(job, collector.grid, "nesting")
    last = zones.shape[0] - 1, zones.shape[1] - 1
    return activity_of(
        collector.blobs,
        [at for at, _ in collector.levels],
        lambda row, column: bool(zones[min(int(row), last[0]), min(int(column), last[1])]),
        shell_px=collector.grid.shell_px,
        step_s=SKIM_EVERY_S,
        switches=[float(at) for at in bins.times[1:][np.diff(bins.spell) != 0]],
    )


def _place(seen: Blob | Passage | StopSpan, grid: Grid) -> Point:
    """The `(x, y)` picture pixel of a place in the skim picture."""
    return (seen.column * grid.to_picture[0], seen.row * grid.to_picture[1])


def _placed(
    job: Job, footage: Footage, plan: PlanMap | None, dig: Dig, tell: Tell, *, shown: bool
) -> PlacedDig:
    tell(1.0, 1.0, "making pictures")
    pictures: dict[str, str | None] = dict.fromkeys(PICTURE_NAMES)
    clip = None
    if shown:
        stem = picture_stem(job.camera.name, dig.start, dig.chamber, ZoneInfo(job.site.timezone))
        zones = job.camera.zones_of("nesting")
        pictures = dig_pictures(footage, dig, job.camera.picture, job.folder, stem, zones=zones)
        clip = _clip(job, footage, dig, stem) if dig.call != "rest" else None
    return PlacedDig(dig, (job.camera.name,), *_on_plan(plan, dig, job.site.animal), pictures, clip)


def _clip(job: Job, footage: Footage, dig: Dig, stem: str) -> str | None:
    """The clip's path relative to the night's folder, None where no frame could be read."""
    clip, local = f"clips/{stem}.mp4", ZoneInfo(job.site.timezone)
    made = stay_clip(footage, dig, job.camera.picture, job.folder / clip, local=local)
    return clip if made else None


def _on_plan(
    plan: PlanMap | None, dig: Dig, animal: Animal
) -> tuple[Point | None, float | None, float | None]:
    """(chamber in metres, radius in metres, shell in cm); None without marks, or above the horizon."""
    if plan is None:
        return None, None, None
    place, within = rear_on_plan(plan, dig.chamber, dig.chamber_radius_px, animal)
    shell = 100 * (dig.shell_length_px or float("nan")) / plan.shell_pixels(dig.body, 1.0)
    return place, within, _known(shell)


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _pictured(job: Job, footage: Footage, visitor: Visitor, *, shown: bool) -> SeenVisitor:
    if not shown:
        return SeenVisitor(visitor, None)
    stem = picture_stem(job.camera.name, visitor.start, visitor.place, ZoneInfo(job.site.timezone))
    return SeenVisitor(visitor, visitor_picture(footage, visitor, job.camera.picture, job.folder, stem))


def _zone_seen(job: Job, footage: Footage, bins: Bins, health: Health) -> ZoneSeen:
    """What of the nesting zone could be judged inside nesting hours, as minutes and as a picture."""
    low, high = (at.timestamp() for at in job.hours.nesting)
    inside_hours = (bins.times >= low - bins.step_s) & (bins.times < high)
    seconds = np.where(inside_hours, bins.shown_s, 0.0)
    share, grid = health.zone_share(), bins.grid
    corners = [
        grid.picture_point(row - 0.5, column - 0.5) for row, column in ((0, 0), (grid.rows, grid.columns))
    ]
    best = np.flatnonzero(inside_hours & (share >= share[inside_hours].max(initial=0.0)))
    picture = seen_picture(
        footage,
        health.unseen_share(seconds, high - low),
        (*corners[0], *corners[1]),
        job.camera.zones_of("nesting"),
        job.camera.picture,
        [datetime.fromtimestamp(float(bins.times[k]), UTC) for k in best[len(best) // 2 :][:1]],
        job.folder,
    )
    return ZoneSeen(float(seconds @ share) / 60, (high - low) / 60, picture)
