"""The invented pen and the cameras that look at it: everything that does not move."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import atan2, cos, degrees, hypot, pi, sin

import numpy as np
from numpy.typing import NDArray

from nestwatch.synthetic.lens import Lens, make_lens
from nestwatch.synthetic.scenario import CameraPart, Scenario, Span

Point = tuple[float, float]
Generator = np.random.Generator


def draw(span: Span, rng: Generator) -> float:
    """An even draw from a scenario's pair."""
    return float(rng.uniform(span[0], span[1]))


@dataclass(frozen=True, slots=True)
class Plant:
    """A plant with blades: `at` metres, `height_m`, `spread_m`; the seed draws its `blades`."""

    at: Point
    height_m: float
    spread_m: float
    blades: int
    seed: int


@dataclass(frozen=True, slots=True)
class Layout:
    """The pen on the plan, metres. `pond`: (x, y, radius x, radius y). `nesting`: a plan outline.
    `screen`: plants that stand before an animal. `nests`: by animal, where its nest lies and from when it is
    finished (x, y, seconds since the night's start)."""

    width: float
    depth: float
    wall_m: float
    pond: tuple[float, float, float, float]
    nesting: tuple[Point, ...]
    plants: tuple[Plant, ...]
    tufts: tuple[Plant, ...]
    posts: tuple[tuple[str, Point], ...]
    lenses: dict[str, Lens]
    screen: tuple[Plant, ...] = ()
    nests: dict[str, tuple[float, float, float]] = field(default_factory=dict)

    def in_pen(self, place: Point, *, margin: float) -> bool:
        """True inside the pen, `margin` metres from its walls."""
        return margin < place[0] < self.width - margin and margin < place[1] < self.depth - margin

    def in_nesting(self, place: Point, *, margin: float = 0.15) -> bool:
        """True inside the nesting zone (a rectangle on the plan), `margin` metres from its edge."""
        (x0, y0), _, (x1, y1), _ = self.nesting
        return x0 + margin < place[0] < x1 - margin and y0 + margin < place[1] < y1 - margin

    def in_every_picture(self, place: Point, *, margin: float = 0.07) -> bool:
        """True where all cameras see the place, `margin` of the picture's size from its edges."""
        return all(_inside(lens, place, margin) for lens in self.lenses.values())

    def shore(self, towards: Point) -> Point:
        """Where an animal leaves the pond when it makes for `towards`."""
        x, y, rx, ry = self.pond
        angle = atan2((towards[1] - y) / ry, (towards[0] - x) / rx)
        return x + 0.9 * rx * cos(angle), y + 0.9 * ry * sin(angle)


def _inside(lens: Lens, place: Point, margin: float) -> bool:
    x, y = lens.project([[place[0], place[1], 0.0]])[0]
    return bool(
        margin * lens.width < x < (1 - margin) * lens.width
        and margin * lens.height < y < (1 - margin) * lens.height
    )


def make_layout(scenario: Scenario, rng: Generator) -> Layout:
    """Draws the pen, its plants and its cameras."""
    width, depth = scenario.pen.size_m
    west = bool(rng.random() < 0.5)
    rx, ry = float(rng.uniform(0.35, 0.5)), float(rng.uniform(0.5, 0.8))
    x = 0.75 * rx if west else width - 0.75 * rx
    pond = (x, depth * float(rng.uniform(0.45, 0.7)), rx, ry)
    low, high = (x + rx + 0.1, width - 0.12) if west else (0.12, x - rx - 0.1)
    nesting = ((low, 0.12), (high, 0.12), (high, depth - 0.12), (low, depth - 0.12))
    lenses = {part.name: _lens(part, scenario, rng) for part in scenario.camera}
    return Layout(
        width,
        depth,
        draw(scenario.pen.wall_m, rng),
        pond,
        nesting,
        _plants(scenario.pen.plants, (0.18, 0.4), (low, high, depth), rng),
        _plants(scenario.pen.tufts, (0.05, 0.11), (0.0, width, depth), rng),
        _posts(width, depth),
        lenses,
    )


def _lens(part: CameraPart, scenario: Scenario, rng: Generator) -> Lens:
    """A camera outside one edge of the pen, looking across it."""
    width, depth = scenario.pen.size_m
    along, back = draw(part.along, rng), draw(part.back_m, rng)
    eye, yaw = {
        "south": ((along * width, -back), 90.0),
        "north": ((along * width, depth + back), -90.0),
        "west": ((-back, along * depth), 0.0),
        "east": ((width + back, along * depth), 180.0),
    }[part.side]
    return make_lens(
        scenario.video.size,
        eye=(eye[0], eye[1], draw(part.height_m, rng)),
        yaw_deg=yaw + draw(part.pan_deg, rng),
        tilt_deg=draw(part.tilt_deg, rng),
        roll_deg=draw(part.roll_deg, rng),
        hfov_deg=draw(part.hfov_deg, rng),
        k1=draw(part.k1, rng),
    )


def _plants(
    count: Span, height: Point, area: tuple[float, float, float], rng: Generator
) -> tuple[Plant, ...]:
    """Plants along the edges of an area (x from, x to, depth), a few inside it."""
    found = []
    for _ in range(round(draw(count, rng))):
        x, y = float(rng.uniform(area[0], area[1])), float(rng.uniform(0.05, area[2]))
        if rng.random() < 0.75:
            y = area[2] * (0.06 if rng.random() < 0.3 else 0.95) + float(rng.normal(0, 0.05))
        tall = float(rng.uniform(*height))
        found.append(Plant((x, y), tall, 0.5 * tall, int(rng.integers(9, 18)), int(rng.integers(1 << 30))))
    return tuple(found)


def _posts(width: float, depth: float) -> tuple[tuple[str, Point], ...]:
    """Posts at the corners, half way along the edges, and stakes inside."""
    named = [
        ("post_sw", (0.0, 0.0)),
        ("post_se", (width, 0.0)),
        ("post_ne", (width, depth)),
        ("post_nw", (0.0, depth)),
        ("post_n", (width / 2, depth)),
        ("post_s", (width / 2, 0.0)),
        ("post_w", (0.0, depth / 2)),
        ("post_e", (width, depth / 2)),
        ("stake_1", (0.3 * width, 0.35 * depth)),
        ("stake_2", (0.7 * width, 0.35 * depth)),
        ("stake_3", (0.5 * width, 0.65 * depth)),
        ("stake_4", (0.25 * width, 0.75 * depth)),
        ("stake_5", (0.75 * width, 0.75 * depth)),
    ]
    return tuple((name, (round(x, 3), round(y, 3))) for name, (x, y) in named)


def seen_outline(lens: Lens, outline: tuple[Point, ...], *, per_edge: int = 4) -> list[Point]:
    """A plan outline as the camera shows it: edges bent by the lens, cut at the picture's border."""
    dense = [
        (a[0] + k / per_edge * (b[0] - a[0]), a[1] + k / per_edge * (b[1] - a[1]), 0.0)
        for a, b in zip(outline, (*outline[1:], outline[0]), strict=True)
        for k in range(per_edge)
    ]
    return cut(lens.project(dense), lens.width - 1.0, lens.height - 1.0)


def cut(outline: NDArray[np.float64], width: float, height: float) -> list[Point]:
    """The part of an outline (n, 2) within 1..width, 1..height (Sutherland and Hodgman 1974)."""
    kept = [(float(x), float(y)) for x, y in outline]
    for axis, edge, sign in ((0, 1.0, 1), (0, width, -1), (1, 1.0, 1), (1, height, -1)):
        kept = _cut_once(kept, axis, edge, sign)
    return [(round(x, 1), round(y, 1)) for x, y in kept]


def _cut_once(points: list[Point], axis: int, edge: float, sign: int) -> list[Point]:
    kept: list[Point] = []
    for a, b in zip(points, points[1:] + points[:1], strict=True):
        here, there = sign * (a[axis] - edge), sign * (b[axis] - edge)
        if here >= 0:
            kept.append(a)
        if here * there < 0:
            k = here / (here - there)
            kept.append((a[0] + k * (b[0] - a[0]), a[1] + k * (b[1] - a[1])))
    return kept


def ellipse(x: float, y: float, rx: float, ry: float, *, corners: int = 16) -> tuple[Point, ...]:
    """Corners of an ellipse on the plan."""
    turn = [2 * pi * k / corners for k in range(corners)]
    return tuple((x + rx * cos(a), y + ry * sin(a)) for a in turn)


def apparent(lens: Lens, at: Point, heading: float, shell_m: float) -> tuple[float, float, Point]:
    """How a shell shows: length in pixels, direction of its head (degrees clockwise from right), its middle.

    Length is between front and rear edge at a height of 0.1 shell; the middle is at 0.2 shell.
    """
    ahead = np.array([cos(heading), sin(heading), 0.0]) * 0.5 * shell_m
    middle = np.array([at[0], at[1], 0.1 * shell_m])
    top = np.array([at[0], at[1], 0.2 * shell_m])
    front, rear, centre = lens.project([middle + ahead, middle - ahead, top])
    dx, dy = front - rear
    return hypot(dx, dy), degrees(atan2(dy, dx)), (float(centre[0]), float(centre[1]))
