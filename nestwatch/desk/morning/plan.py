"""A dig on the plan of its pen, as numbers for a drawing. Pure; metres, with y upwards as on the plan."""

from __future__ import annotations

from dataclasses import dataclass

from nestwatch.season.records import Dig
from nestwatch.site.records import Pen, Point, Site

_MARGIN = 0.12  # of the longer side
_LEAST_M = 0.04  # a smaller ring would not be seen


@dataclass(frozen=True, slots=True)
class PenPlan:
    """A pen's plan with one place. `box` is an SVG view box (y turned downwards by the drawing's transform);
    `unit` a hundredth of the longer side, in metres, for line widths and letters; `ring` the radius drawn."""

    name: str
    box: tuple[float, float, float, float]
    unit: float
    outline: str
    posts: tuple[tuple[str, Point], ...]
    place: Point
    ring: float

    @property
    def middle(self) -> float:
        """Names of posts right of this stand left of them."""
        return self.box[0] + 0.7 * self.box[2]


def plan_of(site: Site, dig: Dig) -> PenPlan | None:
    """The plan for a dig; None where its place or its pen is not known."""
    pen = next((each for each in site.pens if each.name == dig.pen), None)
    if pen is None or dig.plan_m is None:
        return None
    left, low, right, high = _bounds(pen, dig.plan_m)
    wide = max(right - left, high - low, 0.1)
    margin = wide * _MARGIN
    return PenPlan(
        pen.name,
        (left - margin, -high - margin, right - left + 2 * margin, high - low + 2 * margin),
        wide / 100,
        " ".join(f"{x:g},{-y:g}" for x, y in pen.outline),
        tuple((post.name, (post.at[0], -post.at[1])) for post in pen.posts),
        (dig.plan_m[0], -dig.plan_m[1]),
        max(dig.within_m or 0.0, _LEAST_M),
    )


def _bounds(pen: Pen, place: Point) -> tuple[float, float, float, float]:
    points = [*pen.outline, *(post.at for post in pen.posts), place]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)
