"""What is doubtful about nesting zones on the plan: outside the pen, or places known too badly to dig by."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from nestwatch.site.plan import PlanMap
from nestwatch.site.records import Camera, Pen, Point, Units, Zone
from nestwatch.site.tape import format_length
from nestwatch.site.uncertainty import next_stake

_OUTSIDE_SHARE = 0.2  # walls seen from above hide ground and lean into an outline: some may lie outside
_TOO_WIDE_M = 0.15  # a hand's reach beside the stake
_WORTH_A_STAKE = 0.8
_FINENESS = 16


def zone_doubts(plan: PlanMap, camera: Camera, pen: Pen, units: Units) -> Iterator[str]:
    """Sentences on a camera's nesting zones, without its name."""
    for zone in camera.zones_of("nesting"):
        share = outside_share(plan, zone, pen)
        if share > _OUTSIDE_SHARE:
            yield (
                f'{share:.0%} of zone "{zone.name}" lies outside {pen.name} on the plan; correct the zone, '
                "the pen's outline, or the marks"
            )
    yield from _wide(plan, camera, units)


def outside_share(plan: PlanMap, zone: Zone, pen: Pen) -> float:
    """Share of a zone's area on the plan that lies outside the pen's outline; NaN at or above the horizon."""
    corners = plan.to_plan(_dense(zone.outline))
    if not np.isfinite(corners).all():
        return float("nan")
    area, inside = shapely.make_valid(shapely.Polygon(corners)), shapely.Polygon(pen.outline)
    return float(1 - shapely.area(shapely.intersection(area, inside)) / shapely.area(area))


def _dense(outline: tuple[Point, ...]) -> list[Point]:
    """The outline with points between its corners: a bent lens shows a straight wall as a curve."""
    ends = zip(outline, (*outline[1:], outline[0]), strict=True)
    steps = np.arange(_FINENESS) / _FINENESS
    return [(a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t) for a, b in ends for t in steps]


def _wide(plan: PlanMap, camera: Camera, units: Units) -> Iterator[str]:
    """Where places are known badly, and the stake that would help most."""
    stake = next_stake(plan, camera.zones_of("nesting"))
    if stake is None or stake.before_m <= _TOO_WIDE_M:
        return
    before, after = (format_length(metres, units) for metres in (stake.before_m, stake.after_m))
    said = f"marks alone leave places in the nesting zones unsure by up to {before}"
    if stake.after_m < _WORTH_A_STAKE * stake.before_m:
        x, y = stake.pixel
        said += f"; one more stake near pixel ({x:.0f}, {y:.0f}) would bring that to {after}"
    yield said
