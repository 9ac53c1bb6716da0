"""One camera's marks and zones on the pen's plan, as numbers that the page draws. Metres, and words."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from nestwatch.site.marks import FEWEST_MARKS
from nestwatch.site.plan import PlanMap
from nestwatch.site.records import Camera, Pen, Point, Site, Units, Zone
from nestwatch.site.tape import format_length
from nestwatch.site.uncertainty import next_stake, zone_raster

Floats = NDArray[np.float64]

CLASSES_M = (0.05, 0.10, 0.20)
"""Upper ends of the classes of radius that are shaded; the fourth is open."""
_COLUMNS = 24
_ALONG_EDGE = 8  # points per edge: a bent lens makes straight lines on the picture curves on the plan
_WORTH_M = 0.01  # advice that gains less than a centimetre is not given


def pen_view(pen: Pen) -> dict[str, Any]:
    """Outline and posts of a pen, without any camera."""
    return {
        "name": pen.name,
        "outline": [list(corner) for corner in pen.outline],
        "posts": [{"name": post.name, "at": list(post.at)} for post in pen.posts],
    }


def plan_view(site: Site, camera: Camera, pen: Pen, plan: PlanMap) -> dict[str, Any]:
    """Residuals of the marks, zones mapped onto the plan, the shaded radius, and where a stake would help."""
    nesting = camera.zones_of("nesting")
    return {
        "marks": _marks(camera, pen, plan, site.units),
        "zones": [_zone(plan, zone) for zone in camera.zones],
        "shade": _shade(plan, nesting) if nesting else [],
        "classes": _class_words(site.units),
        "next": _advice(plan, nesting, pen, site.units) if nesting else None,
        "fit": _fit_words(plan, len(camera.marks), site.units),
    }


def _marks(camera: Camera, pen: Pen, plan: PlanMap, units: Units) -> list[dict[str, Any]]:
    """How far each mark is off: where the mapping puts its pixel against its post, and the other way."""
    at = {post.name: post.at for post in pen.posts}
    out = []
    for mark in camera.marks:
        seen, expected = plan.to_plan([mark.pixel])[0], plan.to_pixel([at[mark.post]])[0]
        off_m = float(np.hypot(*(seen - at[mark.post])))
        off_px = float(np.hypot(*(expected - mark.pixel)))
        known = bool(np.isfinite([off_m, off_px]).all())
        out.append(
            {
                "post": mark.post,
                "seen": _pair(seen),
                "expected": _pair(expected),
                "off_m": off_m if known else None,
                "off_px": off_px if known else None,
                "words": f"{_small(off_m, units)}, {off_px:.1f} px" if known else "above the horizon",
            }
        )
    return out


def _zone(plan: PlanMap, zone: Zone) -> dict[str, Any]:
    """The outline on the plan; corners at or above the horizon are left out."""
    places = plan.to_plan(_dense(zone.outline))
    shown = places[np.isfinite(places).all(axis=1)]
    return {"name": zone.name, "kind": zone.kind, "outline": [_pair(place) for place in shown]}


def _dense(outline: tuple[Point, ...]) -> Floats:
    corners = np.array(outline, np.float64)
    share = np.arange(_ALONG_EDGE)[:, np.newaxis] / _ALONG_EDGE
    edges = [
        here + share * (there - here) for here, there in zip(corners, np.roll(corners, -1, 0), strict=True)
    ]
    return np.concatenate(edges)


def _shade(plan: PlanMap, nesting: tuple[Zone, ...]) -> list[dict[str, Any]]:
    """Squares of the picture's raster as quadrangles on the plan, with their class of radius (0 to 3)."""
    raster = zone_raster(plan, nesting, columns=_COLUMNS)
    left, _, right, _ = shapely.union_all([shapely.Polygon(zone.outline) for zone in nesting]).bounds
    half = (right - left) / _COLUMNS / 2
    corners = np.array([[-half, -half], [half, -half], [half, half], [-half, half]])
    cells = []
    for pixel, within in zip(raster.pixels, raster.within_m, strict=True):
        quad = plan.to_plan(pixel + corners)
        if np.isfinite(within) and np.isfinite(quad).all():
            level = int(np.searchsorted(CLASSES_M, within))
            cells.append({"quad": [_pair(corner) for corner in quad], "level": level})
    return cells


def _class_words(units: Units) -> list[str]:
    """What the classes of shading mean."""
    limits = [_small(limit, units) for limit in CLASSES_M]
    return [*limits, f"worse than {limits[-1]}"]


def _advice(plan: PlanMap, nesting: tuple[Zone, ...], pen: Pen, units: Units) -> dict[str, Any] | None:
    found = next_stake(plan, nesting)
    if found is None or found.before_m - found.after_m < _WORTH_M:
        return None
    near = min(pen.posts, key=lambda post: float(np.hypot(*np.subtract(post.at, found.at))))
    return {
        "pixel": list(found.pixel),
        "at": list(found.at),
        "words": f"One more stake here would help most ({_length(_gap(near.at, found.at), units)} from "
        f"{near.name}): nine tenths of the nesting zones would be known to {_small(found.after_m, units)} "
        f"instead of {_small(found.before_m, units)}.",
    }


def _fit_words(plan: PlanMap, marks: int, units: Units) -> str:
    """The fit in one sentence."""
    lens = "with the lens corrected" if plan.bend else "without correcting the lens"
    if marks == FEWEST_MARKS:
        return (
            f"{marks} marks tie the picture to the plan ({lens}); four always fit, so add more to check them."
        )
    return (
        f"{marks} marks tie the picture to the plan ({lens}); they agree to {_small(plan.residual_m, units)}."
    )


def _gap(one: Point, other: Point) -> float:
    return float(np.hypot(one[0] - other[0], one[1] - other[1]))


def _length(metres: float, units: Units) -> str:
    return format_length(metres, units)


def _small(metres: float, units: Units) -> str:
    """A short length with enough digits to compare: tenths of a centimetre below ten, or inches."""
    if units == "imperial" or metres >= 0.1:
        return format_length(metres, units)
    return f"{metres * 100:.1f} cm".replace(".0 cm", " cm")


def _pair(point: Floats) -> list[float] | None:
    return [round(float(point[0]), 4), round(float(point[1]), 4)] if np.isfinite(point).all() else None
