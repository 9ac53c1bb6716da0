"""All cameras' nights together: clocks compared, digs joined and ranked, raids found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import combinations
from zoneinfo import ZoneInfo

from nestwatch.camera_view import CameraView, view_of
from nestwatch.nesting.clocks import Disagreement, ahead_of_all, by_events, by_movement, shared_spans
from nestwatch.nesting.join import JoinedDig, join_digs
from nestwatch.nesting.raid import NO_TURTLE, Nest, Raid, by_visit, find_raids
from nestwatch.nesting.rank import ranked
from nestwatch.nesting.records import Dig
from nestwatch.nesting.scale import Scale, put_right
from nestwatch.report.records import CameraNight, PlacedDig
from nestwatch.site.radius import radius_90
from nestwatch.site.records import NightHours, Point, Site

_EGGS_MAY_LIE = {"nest": "nest", "unclear": "unclear dig"}


@dataclass(frozen=True, slots=True)
class KnownNest:
    """A nest of an earlier night: what the keeper calls it, the pen, and its place in metres."""

    name: str
    pen: str
    plan_m: Point


@dataclass(frozen=True, slots=True)
class WholeNight:
    """What all cameras say together. `digs`: ranked, each animal once. `raids`: their `dig` counts into
    `digs`.

    `clocks`: every pair of cameras whose clocks could be compared, worth telling or not.
    """

    digs: tuple[PlacedDig, ...]
    raids: tuple[Raid, ...]
    clocks: tuple[Disagreement, ...]


def together(
    site: Site,
    hours: NightHours,
    cameras: Sequence[CameraNight],
    known: Sequence[KnownNest] = (),
    *,
    scale: Scale | None = None,
) -> WholeNight:
    """One night of a site from its cameras' nights. Raises `SiteError` as `plan_map` does.

    `scale`: puts likelihoods right, None leaves them as built.
    """
    views = [view_of(site, night) for night in cameras]
    clocks = _clocks_by_movement(views)
    joined = _Joining(views, clocks, scale)
    by_edges = _clocks_by_events(views, joined.joined, clocks)
    if by_edges:
        clocks += by_edges
        joined = _Joining(views, clocks, scale)
    digs = _ranked(joined.placed())
    lingering = [each for view in views for each in view.lingering()]
    nests = _nests(digs, {view.name: view for view in views}, ZoneInfo(site.timezone))
    earlier = [Nest(each.name, hours.start, each.pen, each.plan_m) for each in known]
    raids = find_raids(lingering, [*nests, *earlier])
    told = _told(digs, raids, ZoneInfo(site.timezone))
    return WholeNight(tuple(told), tuple(by_visit(raids)), tuple(clocks))


class _Joining:
    """All cameras' digs joined, and the way back to their pictures."""

    def __init__(
        self, views: Sequence[CameraView], clocks: Sequence[Disagreement], scale: Scale | None
    ) -> None:
        digs = [
            (view, replace(placed, dig=put_right(placed.dig, scale)))
            for view in views
            for placed in view.digs()
        ]
        pairs = [(view.seen(placed), placed) for view, placed in digs]
        self._placed = {id(seen): placed for seen, placed in pairs}
        ahead = ahead_of_all([each for each in clocks if each.worth_telling])
        self._seen = [seen for seen, _ in pairs]  # kept, so that their ids stay theirs
        self.joined = join_digs(self._seen, ahead)

    def placed(self) -> list[PlacedDig]:
        """Each joined dig with the pictures of its best view and the place that all give."""
        return [self._one(each) for each in self.joined]

    def _one(self, joined: JoinedDig) -> PlacedDig:
        best = replace(self._placed[id(joined.views[0])], dig=joined.dig)
        if len(joined.views) == 1 or joined.chamber is None:
            return best
        x, y = (float(v) for v in joined.chamber.at)
        within = float(radius_90(joined.chamber.covariance))
        names = tuple(view.dig.camera for view in joined.views)
        return replace(best, cameras=names, plan_m=(x, y), within_m=within)


def _clocks_by_movement(views: Sequence[CameraView]) -> list[Disagreement]:
    found = [
        by_movement(one.name, one.night.activity, other.name, other.night.activity)
        for one, other in _pairs(views)
        if one.night.activity is not None and other.night.activity is not None
    ]
    return [each for each in found if each is not None]


def _clocks_by_events(
    views: Sequence[CameraView], joined: Sequence[JoinedDig], known: Sequence[Disagreement]
) -> list[Disagreement]:
    """Of pairs that movement did not settle: by shared stays and visitors."""
    settled = {(each.camera, each.other) for each in known}
    found = [
        by_events(one.name, other.name, _stays_later(joined, one, other) + _visits_later(one, other))
        for one, other in _pairs(views)
        if (one.name, other.name) not in settled
    ]
    return [each for each in found if each is not None]


def _pairs(views: Sequence[CameraView]) -> list[tuple[CameraView, CameraView]]:
    """Pairs of cameras that look at one pen."""
    return [(a, b) for a, b in combinations(views, 2) if a.pen is not None and a.pen == b.pen]


def _stays_later(joined: Sequence[JoinedDig], one: CameraView, other: CameraView) -> list[float]:
    """Seconds by which `one` has starts and ends of shared stays later, those that both saw."""
    out = []
    for each in joined:
        by = {view.dig.camera: view.dig for view in each.views}
        if one.name in by and other.name in by:
            a, b = by[one.name], by[other.name]
            out += [(a.start - b.start).total_seconds()] if a.start_seen and b.start_seen else []
            out += [(a.end - b.end).total_seconds()] if a.end_seen and b.end_seen else []
    return out


def _visits_later(one: CameraView, other: CameraView) -> list[float]:
    """The same of visitors of one kind."""
    out = []
    for kind in ("person", "larger animal"):
        spans = [
            [(v.start.timestamp(), v.end.timestamp()) for v in view.visits() if v.what == kind]
            for view in (one, other)
        ]
        out += shared_spans(spans[0], spans[1])
    return out


def _ranked(placed: list[PlacedDig]) -> list[PlacedDig]:
    by_dig = {id(p.dig): p for p in placed}
    return [by_dig[id(dig)] for dig in ranked([p.dig for p in placed])]


def _nests(digs: Sequence[PlacedDig], views: dict[str, CameraView], local: ZoneInfo) -> list[Nest]:
    """What a raider may be after: this night's digs that may hold eggs."""
    return [
        _nest(number, placed, views[placed.cameras[0]], local)
        for number, placed in enumerate(digs)
        if placed.dig.call in _EGGS_MAY_LIE and NO_TURTLE not in placed.dig.reasons
    ]


def _nest(number: int, placed: PlacedDig, view: CameraView, local: ZoneInfo) -> Nest:
    dig = placed.dig
    return Nest(
        name=f"the {_EGGS_MAY_LIE[dig.call]} of {_clock(dig.start, local)}",
        since=dig.end,
        pen=view.pen,
        plan_m=placed.plan_m,
        camera=dig.camera,
        pixel=dig.chamber,
        reach_px=view.reach_px(dig),
        dig=number,
    )


def _told(digs: Sequence[PlacedDig], raids: Sequence[Raid], local: ZoneInfo) -> list[PlacedDig]:
    """`digs` with each raid among the reasons."""
    out = list(digs)
    for raid in raids:
        if raid.dig is not None:
            dig = out[raid.dig].dig
            out[raid.dig] = replace(out[raid.dig], dig=_raided(dig, raid, local))
    return out


def _raided(dig: Dig, raid: Raid, local: ZoneInfo) -> Dig:
    when = f"from {_clock(raid.start, local)} to {_clock(raid.end, local)}"
    reason = f"RAID? a {raid.what} was here {when}: the eggs may be gone or exposed"
    return replace(dig, reasons=(reason, *dig.reasons))


def _clock(at: datetime, local: ZoneInfo) -> str:
    return f"{at.astimezone(local):%H:%M}"
