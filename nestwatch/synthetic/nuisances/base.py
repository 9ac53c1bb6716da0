"""What every disturbance can do to a picture, and the register of kinds.

To add one: a file in this folder with a subclass of `Nuisance` under `@register`, its `Settings`, and the
few methods it needs; then import it in `nuisances/__init__.py`. Everything must be a pure function of the
time, so that segments can be rendered in any order.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, NamedTuple

import numpy as np
from numpy.typing import NDArray
from pydantic import AfterValidator, BaseModel, ConfigDict, ValidationError

from nestwatch.errors import ScenarioError
from nestwatch.synthetic.layout import Layout
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.scenario import NuisancePart, Scenario, Span
from nestwatch.synthetic.soil import Map
from nestwatch.synthetic.story import Clock, stream

Bytes = NDArray[np.uint8]
Light = Callable[[float, float], float]
PEN, AIR, BEFORE_LENS, GLASS = range(4)
"""Where a kind is, the farthest first: among the animals, in the air, near the lens, on or in the lens."""


def _above_zero(value: tuple[float, float]) -> tuple[float, float]:
    if value[0] <= 0:
        raise ValueError("must be above 0")
    return value


def _within_one(value: tuple[float, float]) -> tuple[float, float]:
    if not 0 <= value[0] <= value[1] <= 1:
        raise ValueError("must lie between 0 and 1")
    return value


Positive = Annotated[Span, AfterValidator(_above_zero)]
"""A span above 0."""
Share = Annotated[Span, AfterValidator(_within_one)]
"""A span within 0..1."""


class Settings(BaseModel):
    """Settings of a kind: spans are drawn by the seed, the rest is kept."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class CameraSettings(Settings):
    """Of what befalls a camera and not the pen. `camera`: the only one it befalls; empty for every one."""

    camera: str = ""


@dataclass(frozen=True, slots=True)
class Plan:
    """One disturbance of the night: its settings with every span drawn, seconds since the night's start."""

    kind: str
    start: float
    end: float
    values: dict[str, Any]
    seed: int

    def over(self, t: float) -> float:
        """0 outside the plan's span, rising to 1 and falling again over its first and last tenth."""
        if not self.start < t < self.end:
            return 0.0
        edge = max(0.1 * (self.end - self.start), 1e-6)
        return min((t - self.start) / edge, (self.end - t) / edge, 1.0)


class Shift(NamedTuple):
    """A picture's move: pixels to the right and down, degrees clockwise about the picture's middle."""

    right: float
    down: float
    turn: float


NO_SHIFT = Shift(0.0, 0.0, 0.0)


class Nuisance:
    """Does nothing; each kind overrides what it needs. One object per camera."""

    kind: ClassVar[str]
    Settings: ClassVar[type[Settings]] = Settings
    layer: ClassVar[int] = PEN
    lit_by_camera: ClassVar[bool] = False
    """True for what is drawn as the camera's own lamp shows it, and so is dark when that lamp is out."""

    def __init__(self, plan: Plan, layout: Layout, lens: Lens, camera: str) -> None:
        self.plan, self.layout, self.lens = plan, layout, lens
        self.pen_rng = np.random.default_rng(plan.seed)
        self.camera_rng = np.random.default_rng([plan.seed, zlib.crc32(camera.encode())])

    @classmethod
    def shows(cls, plan: Plan, layout: Layout) -> tuple[float, float]:
        """When it can be seen, seconds since the night's start."""
        return plan.start, plan.end

    def freeze(self, t: float) -> float:
        """The time whose frame is recorded at `t`."""
        return t

    def gain(self, t: float) -> float:
        """Factor on the whole picture."""
        return 1.0

    def noise(self, t: float) -> float:
        """Factor on the sensor's noise."""
        return 1.0

    def lamp_left(self, t: float) -> float:
        """Share of the camera's own infrared lamp that still shines."""
        return 1.0

    def wet(self, t: float) -> float:
        """How wet the bare soil is, 0..1."""
        return 0.0

    def wind(self, t: float) -> float:
        """How hard the plants are blown, 0..1."""
        return 0.0

    def lamp(self, t: float) -> Map | None:
        """Levels per reflectance added by a lamp (rows, columns), None when there is none."""
        return None

    def epoch(self, t: float) -> float:
        """A number that stays the same while `shade` and `cover` do."""
        return 0.0

    def shade(self, t: float, *, infrared: bool) -> Map | None:
        """Factor (rows, columns) on the light that falls on the ground and the animals, None for 1."""
        return None

    def cover(self, seen: Map, t: float) -> Map:
        """The ground's reflectance (rows, columns) with what lies on it."""
        return seen

    def draw(self, picture: Bytes, t: float, light: Light) -> None:
        """Draws over the ground and the animals. `light(x, y)`: levels per reflectance at a pixel.

        Kinds of a nearer `layer` draw later. Up to `AIR` the picture is the lens's own; after that it has
        been moved by `shift`.
        """

    def fade(self, t: float) -> float:
        """Factor on the day's colours."""
        return 1.0

    def shift(self, t: float) -> Shift:
        """How the camera's picture has moved by `t`."""
        return NO_SHIFT

    def spoil(self, luma: Bytes, t: float) -> None:
        """Changes the finished frame, noise included; the clock is written afterwards."""


_KINDS: dict[str, type[Nuisance]] = {}


def register(kind: type[Nuisance]) -> type[Nuisance]:
    """Makes a kind known by its name."""
    _KINDS[kind.kind] = kind
    return kind


def kinds() -> dict[str, type[Nuisance]]:
    """Every known kind by name."""
    return dict(_KINDS)


def make_plans(scenario: Scenario, clock: Clock, seed: int) -> tuple[Plan, ...]:
    """Draws every disturbance of a scenario. Raises ScenarioError for an unknown kind or setting."""
    return tuple(_plan(part, number, scenario, clock, seed) for number, part in enumerate(scenario.nuisance))


def _plan(part: NuisancePart, number: int, scenario: Scenario, clock: Clock, seed: int) -> Plan:
    rng = stream(seed, f"nuisance {number} {part.kind}")
    if part.kind not in _KINDS:
        raise ScenarioError(
            f"{scenario.name}: nuisance.{number}.kind: no kind {part.kind!r}; "
            f"use one of {', '.join(sorted(_KINDS))}."
        )
    try:
        settings = _KINDS[part.kind].Settings.model_validate(part.settings())
    except ValidationError as wrong:
        first = wrong.errors()[0]
        key = ".".join(str(item) for item in first["loc"])
        told = first["msg"].removeprefix("Value error, ")
        raise ScenarioError(
            f"{scenario.name}: nuisance.{number} ({part.kind}): {key}: {told}; see docs/synthetic.md."
        ) from wrong
    only = getattr(settings, "camera", "")
    if only and only not in {camera.name for camera in scenario.camera}:
        raise ScenarioError(
            f"{scenario.name}: nuisance.{number} ({part.kind}): camera: no camera {only!r}; "
            f"use one of {', '.join(camera.name for camera in scenario.camera)}, or leave it out for all."
        )
    values = {
        name: float(rng.uniform(*value)) if isinstance(value, tuple) else value for name, value in settings
    }
    start, end = clock.draw(part.start, rng), clock.draw(part.end, rng)
    return Plan(part.kind, start, max(end, start + 1), values, int(rng.integers(1 << 30)))


def make_nuisances(plans: tuple[Plan, ...], layout: Layout, lens: Lens, camera: str) -> list[Nuisance]:
    """The disturbances as one camera sees them."""
    befalling = [plan for plan in plans if plan.values.get("camera", "") in ("", camera)]
    return [_KINDS[plan.kind](plan, layout, lens, camera) for plan in befalling]
