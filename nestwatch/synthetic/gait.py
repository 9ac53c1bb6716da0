"""How an animal holds itself: limb positions for walking, sniffing, digging, laying, covering and resting.

Body frame: x ahead, y left, z up, unit = shell length. A pose is a pure function of its arguments.
No published figure for hind-foot strokes was found; the cadence is a scenario's guess (docs/synthetic.md).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import cos, pi, sin

Foot = tuple[float, float, float]

FRONT_LEFT: Foot = (0.50, 0.40, 0.02)
FRONT_RIGHT: Foot = (0.50, -0.40, 0.02)
HIND_LEFT: Foot = (-0.50, 0.34, 0.02)
HIND_RIGHT: Foot = (-0.50, -0.34, 0.02)


@dataclass(frozen=True, slots=True)
class Pose:
    """An animal at one instant. `x`, `y`: metres, below the shell's centre; `heading`: radians from +x.
    `feet`: front left, front right, hind left, hind right. `head`: how far out (1 = normal), turned by
    `head_turn` radians, `head_dip` towards the ground. `roll`, `pitch`: radians; `lift`: shell lengths."""

    x: float
    y: float
    heading: float
    feet: tuple[Foot, Foot, Foot, Foot] = (FRONT_LEFT, FRONT_RIGHT, HIND_LEFT, HIND_RIGHT)
    head: float = 0.6
    head_turn: float = 0.0
    head_dip: float = 0.0
    roll: float = 0.0
    pitch: float = 0.0
    lift: float = 0.0


def _moved(foot: Foot, dx: float = 0.0, dy: float = 0.0, dz: float = 0.0) -> Foot:
    return (foot[0] + dx, foot[1] + dy, foot[2] + dz)


def _bell(u: float) -> float:
    """0 at both ends of 0..1, 1 in the middle."""
    return sin(pi * u) if 0.0 < u < 1.0 else 0.0


def _between(path: tuple[tuple[float, Foot], ...], u: float) -> Foot:
    """A place on a path of (share of the stroke, foot), straight between its points."""
    for (u0, a), (u1, b) in pairwise(path):
        if u <= u1:
            k = (u - u0) / (u1 - u0)
            return (a[0] + k * (b[0] - a[0]), a[1] + k * (b[1] - a[1]), a[2] + k * (b[2] - a[2]))
    return path[-1][1]


def walking(x: float, y: float, heading: float, *, strides: float, moving: bool, dip: float = 0.0) -> Pose:
    """`strides` counts double steps since the start of the walk; diagonal limbs swing together."""
    swing = 0.13 * sin(2 * pi * strides)
    lifted = 0.07 * max(0.0, cos(2 * pi * strides)) if moving else 0.0
    lowered = 0.07 * max(0.0, -cos(2 * pi * strides)) if moving else 0.0
    feet = (
        _moved(FRONT_LEFT, swing, 0, lifted),
        _moved(FRONT_RIGHT, -swing, 0, lowered),
        _moved(HIND_LEFT, -swing, 0, lowered),
        _moved(HIND_RIGHT, swing, 0, lifted),
    )
    sway = 0.03 * sin(2 * pi * strides)
    return Pose(x, y, heading + sway, feet, 1.0, sway * 3, dip, sway, 0.0, 0.05 if moving else 0.0)


def resting(x: float, y: float, heading: float, *, head: float, head_turn: float, fidget: float) -> Pose:
    """Lying still; `fidget` 0..1 is a passing shift of one limb."""
    feet = (
        _moved(FRONT_LEFT, -0.1 * fidget, 0, 0),
        FRONT_RIGHT,
        HIND_LEFT,
        _moved(HIND_RIGHT, 0.08 * fidget),
    )
    return Pose(x, y, heading, feet, head, head_turn)


def nodding(x: float, y: float, heading: float, *, nod: float, head_turn: float, fidget: float) -> Pose:
    """Lying still but for the head, which goes out, down and aside; `nod` 0..1 of one nod."""
    feet = (FRONT_LEFT, _moved(FRONT_RIGHT, 0.1 * fidget), HIND_LEFT, HIND_RIGHT)
    return Pose(x, y, heading, feet, 0.6 + 0.5 * _bell(nod), head_turn * _bell(nod), 0.12 * _bell(nod))


def softened(pose: Pose, still: Pose, share: float) -> Pose:
    """`share` (0..1) of the movement from `still` to `pose`; heading and place move with the rest."""

    def mix(a: float, b: float) -> float:
        return a + share * (b - a)

    one, two, three, four = (
        (mix(a[0], b[0]), mix(a[1], b[1]), mix(a[2], b[2]))
        for a, b in zip(still.feet, pose.feet, strict=True)
    )
    return Pose(
        mix(still.x, pose.x),
        mix(still.y, pose.y),
        mix(still.heading, pose.heading),
        (one, two, three, four),
        *(mix(getattr(still, name), getattr(pose, name)) for name in _SCALARS),
    )


_SCALARS = ("head", "head_turn", "head_dip", "roll", "pitch", "lift")


def sniffing(x: float, y: float, heading: float, *, scrape: float, side: int, head_turn: float) -> Pose:
    """On the spot before digging: nose to the ground, a fore foot scrapes (`scrape` 0..1 of a stroke)."""
    reach = 0.16 * _bell(scrape)
    feet = (
        _moved(FRONT_LEFT, -reach * (side > 0), 0, 0.04 * _bell(scrape)),
        _moved(FRONT_RIGHT, -reach * (side < 0), 0, 0.04 * _bell(scrape)),
        HIND_LEFT,
        HIND_RIGHT,
    )
    return Pose(x, y, heading, feet, 1.0, head_turn, 0.1, 0.02 * side * _bell(scrape))


def _hind(side: int, foot: Foot) -> tuple[Foot, Foot, Foot, Foot]:
    """All feet, the hind foot of `side` (+1 left, -1 right) at `foot` given for the left side."""
    mine = (foot[0], side * foot[1], foot[2])
    return (
        (FRONT_LEFT, FRONT_RIGHT, mine, HIND_RIGHT)
        if side > 0
        else (FRONT_LEFT, FRONT_RIGHT, HIND_LEFT, mine)
    )


_DIG_PATH: tuple[tuple[float, Foot], ...] = (
    (0.0, HIND_LEFT),
    (0.3, (-0.50, 0.04, -0.14)),
    (0.5, (-0.60, 0.10, 0.08)),
    (0.7, (-0.66, 0.42, 0.05)),
    (1.0, HIND_LEFT),
)
_COVER_PATH: tuple[tuple[float, Foot], ...] = (
    (0.0, HIND_LEFT),
    (0.25, (-0.60, 0.55, 0.04)),
    (0.65, (-0.66, 0.02, 0.03)),
    (1.0, HIND_LEFT),
)


def digging(x: float, y: float, heading: float, *, stroke: float, side: int) -> Pose:
    """One hind foot scoops under the tail and throws soil out sideways; the body rocks. `stroke` 0..1."""
    rock = side * _bell(stroke)
    feet = _hind(side, _between(_DIG_PATH, stroke))
    return Pose(x, y, heading + 0.03 * rock, feet, 0.5, 0.0, 0.0, 0.07 * rock, -0.04 * abs(rock), 0.0)


def covering(x: float, y: float, heading: float, *, stroke: float, side: int) -> Pose:
    """A hind foot sweeps soil in from the side, the body swings with it. `stroke` 0..1."""
    swing = side * _bell(stroke)
    sideways = -0.03 * swing
    dx, dy = -sin(heading) * sideways * 0.17, cos(heading) * sideways * 0.17
    feet = _hind(side, _between(_COVER_PATH, stroke))
    return Pose(x + dx, y + dy, heading - 0.05 * swing, feet, 0.5, 0.0, 0.0, 0.05 * swing)


def packing(x: float, y: float, heading: float, *, stroke: float, side: int) -> Pose:
    """Knuckles press the closed hole; the rear rises and falls. `stroke` 0..1."""
    press = _bell(stroke)
    foot = (-0.52, 0.10 + 0.1 * (1 - press), 0.12 * (1 - press))
    return Pose(x, y, heading, _hind(side, foot), 0.5, 0.0, 0.0, 0.03 * side * press, -0.05 * press)


def laying(x: float, y: float, heading: float, *, squeeze: float) -> Pose:
    """Nearly still; `squeeze` 0..1 of one contraction: the rear lifts, the head draws in."""
    push = _bell(squeeze)
    feet = (
        FRONT_LEFT,
        FRONT_RIGHT,
        _moved((-0.46, 0.2, 0.0), 0.03 * push),
        _moved((-0.46, -0.2, 0.0), 0.03 * push),
    )
    return Pose(x, y, heading, feet, 0.5 - 0.25 * push, 0.0, 0.0, 0.0, -0.05 * push, 0.015 * push)
