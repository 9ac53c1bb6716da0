"""Scenarios: what kind of night to invent, as a TOML file with ranges from which a seed draws.

A value written as a pair `[low, high]` is drawn evenly by the seed; a single number is kept as it is.
Clock times are wall times of the scenario's night; a time before noon belongs to the next morning.
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from datetime import date, time
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    model_validator,
)

from nestwatch.errors import ScenarioError
from nestwatch.synthetic.dotted import flat, touches, with_key

FORMAT = "nestwatch-scenario/1"
SAMPLES = Path(__file__).resolve().parents[2] / "samples" / "synthetic"

EventKind = Literal["nest", "trial", "rest", "pass", "follow"]


def _pair(value: object) -> object:
    return value if isinstance(value, list | tuple) else (value, value)


def _rising(value: tuple[float, float]) -> tuple[float, float]:
    if value[0] > value[1]:
        raise ValueError("write the pair as [low, high]")
    return value


Span = Annotated[tuple[float, float], BeforeValidator(_pair), AfterValidator(_rising)]
ClockSpan = Annotated[tuple[time, time], BeforeValidator(_pair)]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)


class NightPart(_Part):
    """When and where: wall times `from` .. `to`, the site's zone and place (degrees)."""

    date: date
    start: time = Field(alias="from")
    end: time = Field(alias="to")
    timezone: str = "Europe/Paris"
    latitude: Annotated[float, Field(ge=-89, le=89)] = 47.2
    longitude: Annotated[float, Field(ge=-180, le=180)] = 1.6


class PenPart(_Part):
    """The enclosure: `size_m` (width, depth), and what lies in it. `soil_contrast`: deviation over mean.
    `plants_over` names an animal: grass stands between the first camera and the place where it digs."""

    name: str = "sand pen"
    size_m: tuple[float, float] = (4.4, 3.2)
    wall_m: Span = (0.15, 0.3)
    soil_contrast: Span = (0.06, 0.14)
    stones: Span = (10.0, 40.0)
    twigs: Span = (10.0, 50.0)
    tufts: Span = (6.0, 14.0)
    plants: Span = (2.0, 5.0)
    plants_over: str | None = None


class CameraPart(_Part):
    """One camera. `side`: the pen's edge it stands at; `along`: where on that edge, 0..1; `back_m`: how far
    outside it. `tilt_deg` is below the horizon, `pan_deg` and `roll_deg` from straight across. `k1` is the
    first radial term (negative: barrel), the second is 0.75 k1² so that the picture never folds.
    `clock_ahead_s`: how far its clock is ahead of true time; the site file does not know of it."""

    name: str = "sandbank"
    side: Literal["south", "north", "west", "east"] = "south"
    along: Span = (0.42, 0.58)
    back_m: Span = (0.3, 0.6)
    height_m: Span = (2.3, 2.8)
    tilt_deg: Span = (39.0, 45.0)
    pan_deg: Span = (-6.0, 6.0)
    roll_deg: Span = (-1.5, 1.5)
    hfov_deg: Span = (78.0, 88.0)
    k1: Span = (-0.22, -0.12)
    clock_ahead_s: Span = (0.0, 0.0)


class VideoPart(_Part):
    """How it is recorded. `gop_s`: seconds between key frames; `crf` or `bitrate_kbit` (which wins) set the
    quality; `vfr` shakes and drops frames; `segment_min`: minutes per file; `codec`: a PyAV encoder;
    `clock`: what the file names follow."""

    size: tuple[int, int] = (640, 360)
    fps: Annotated[float, Field(gt=0, le=60)] = 4.0
    container: Literal["mp4", "mkv", "avi", "ts"] = "mp4"
    codec: Literal["libx264", "libx265", "mpeg4", "mjpeg"] = "libx264"
    preset: str = "ultrafast"
    gop_s: Annotated[float, Field(gt=0)] = 4.0
    crf: Annotated[float, Field(ge=0, le=51)] = 35.0
    bitrate_kbit: float | None = None
    vfr: bool = False
    segment_min: Annotated[float, Field(gt=0)] = 60.0
    clock: Literal["local", "utc"] = "local"
    clock_text: bool = True
    noise: Span = (0.8, 1.3)


class LightPart(_Part):
    """`switch_min`: minutes after sunset (before sunrise) when the camera goes to infrared (back to colour);
    `switch_at` fixes it. `ir_level`: soil's level where the lamp is brightest; `falloff_deg`: half width of
    the lamp's beam."""

    switch_min: Span = (12.0, 28.0)
    switch_at: time | None = None
    ir_level: Span = (115.0, 150.0)
    falloff_deg: Span = (30.0, 42.0)


class EventPart(_Part):
    """One thing an animal does. `at` is when it is on the spot; without it, `after_min` minutes after the
    event before. Minutes of the stages; `residual`: how much of the ground's change remains (0 none, 1 all);
    `cadence` in strokes of either hind foot per minute (no published figure: a guess with a wide range);
    `limbs`: factor 0..1 on the movement of limbs and body (0: the camera has smoothed them away).

    Towards another animal, which must be told before: `beside` it digs (1 to 1.6 shell lengths from chamber
    to chamber), `over` its nest it walks, or over its back (`while_digging`); a follow `follows` it.
    `before`: done on an earlier night; only what it left on the ground is there."""

    kind: EventKind
    at: ClockSpan | None = None
    after_min: Span = (10.0, 40.0)
    wander_min: Span = (4.0, 25.0)
    search_min: Span = (3.0, 10.0)
    dig_min: Span = (35.0, 70.0)
    lay_min: Span = (10.0, 28.0)
    cover_min: Span = (15.0, 38.0)
    rest_min: Span = (60.0, 200.0)
    cadence: Span = (4.0, 14.0)
    throw: Span = (0.6, 1.0)
    residual: Span = (0.15, 0.7)
    near: tuple[float, float] | None = None
    limbs: Annotated[float, Field(ge=0, le=1)] = 1.0
    beside: str | None = None
    over: str | None = None
    while_digging: bool = False
    follows: str | None = None
    before: bool = False

    @model_validator(mode="after")
    def _belongs(self) -> Self:
        """Company goes with the kinds that can keep it."""
        if (self.kind == "follow") != (self.follows is not None):
            raise ValueError('write kind = "follow" and follows = "NAME" together')
        if self.over is not None and self.kind != "pass":
            raise ValueError('`over` goes with kind = "pass"')
        if self.before and self.kind not in ("nest", "trial"):
            raise ValueError("`before` goes with nest and trial")
        return self


class AnimalPart(_Part):
    """One animal. `contrast`: shell against mean soil (-0.3: 30 % darker); `texture`: of its scutes.
    `apart`: its night is drawn anew until it walks through no animal told before it."""

    name: str
    shell_cm: Span = (15.0, 19.0)
    contrast: Span = (-0.4, -0.18)
    texture: Span = (0.08, 0.2)
    speed_cm_s: Span = (1.5, 4.0)
    apart: bool = False
    event: tuple[EventPart, ...] = ()


class NuisancePart(_Part):
    """One disturbance: `kind` names a class in `synthetic.nuisances`, which checks its own settings."""

    model_config = ConfigDict(extra="allow", frozen=True, populate_by_name=True)

    kind: str
    start: ClockSpan = Field(alias="from")
    end: ClockSpan = Field(alias="to")

    def settings(self) -> dict[str, object]:
        """Everything in the table but kind, from and to."""
        return dict(self.__pydantic_extra__ or {})


class GapPart(_Part):
    """A stretch without recording."""

    start: time = Field(alias="from")
    end: time = Field(alias="to")


class Scenario(_Part):
    """A whole scenario file, read-only. `digging`: False gives the same night without any dig.
    `variant`: sets of dotted keys, of which the seed chooses one (see `choose`). `series`: scenarios of
    different series are different nights at the same seed, in the same series the same pen and times."""

    format: Literal["nestwatch-scenario/1"]
    name: str
    about: str = ""
    series: Annotated[int, Field(ge=0)] = 0
    digging: bool = True
    night: NightPart
    pen: PenPart = PenPart()
    video: VideoPart = VideoPart()
    light: LightPart = LightPart()
    camera: tuple[CameraPart, ...] = (CameraPart(),)
    animal: tuple[AnimalPart, ...] = ()
    nuisance: tuple[NuisancePart, ...] = ()
    gap: tuple[GapPart, ...] = ()
    variant: tuple[Annotated[dict[str, Any], BeforeValidator(flat)], ...] = ()


def load_scenario(path_or_name: Path | str, overrides: Mapping[str, object] | None = None) -> Scenario:
    """The scenario in a file, or the one of that name among `samples/synthetic`.

    `overrides` maps dotted keys to values, e.g. `{"video.fps": 2}`; a key into a list of tables (such as
    `animal.contrast`) changes every table of it, `animal.0.contrast` only the first.
    Raises ScenarioError when there is no such file, or it holds an unknown key or a wrong value.
    """
    path = _find(path_or_name)
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
    except tomllib.TOMLDecodeError as wrong:
        raise ScenarioError(f"{path.name}: not a TOML file ({wrong}); mend that line.") from wrong
    return parse_scenario(raw, overrides or {}, where=path.name)


def parse_scenario(raw: Mapping[str, Any], overrides: Mapping[str, object], *, where: str) -> Scenario:
    """A scenario from parsed TOML; `where` is what an error message calls it.

    An override also takes its key out of every variant, so that it holds whatever the seed chooses.
    """
    data = dict(raw)
    if overrides and "variant" in data:
        data["variant"] = [_without(flat(table), overrides) for table in data["variant"]]
    return _validated(data, overrides, where)


def _without(variant: Mapping[str, Any], overrides: Mapping[str, object]) -> dict[str, Any]:
    """A variant without the keys that are overridden."""
    return {k: v for k, v in variant.items() if not any(touches(k, key) for key in overrides)}


def _validated(data: Any, changes: Mapping[str, object], where: str) -> Scenario:
    for key, value in changes.items():
        data = with_key(data, key.split("."), value)
    try:
        return Scenario.model_validate(data)
    except ValidationError as wrong:
        raise ScenarioError(f"{where}: {_sentence(wrong)}") from wrong


def choose(scenario: Scenario, seed: int) -> Scenario:
    """The scenario with the variant of this seed, number `seed` modulo their count; itself without any."""
    if not scenario.variant:
        return scenario
    number = seed % len(scenario.variant)
    raw = scenario.model_dump(by_alias=True, exclude_unset=True)
    return _validated(raw, scenario.variant[number], f"{scenario.name}: variant.{number}")


def override(scenario: Scenario, overrides: Mapping[str, object]) -> Scenario:
    """The scenario with some dotted keys changed (see `load_scenario`)."""
    if not overrides:
        return scenario
    raw = scenario.model_dump(by_alias=True, exclude_unset=True)
    return parse_scenario(raw, overrides, where=scenario.name)


def _find(path_or_name: Path | str) -> Path:
    path = Path(path_or_name)
    for candidate in (path, SAMPLES / f"{path_or_name}.toml"):
        if candidate.is_file():
            return candidate
    files = (*SAMPLES.glob("*.toml"), *SAMPLES.glob("hard/*.toml"))
    names = sorted(file.relative_to(SAMPLES).with_suffix("").as_posix() for file in files)
    raise ScenarioError(f"no scenario {str(path_or_name)!r}; give a TOML file or one of: {', '.join(names)}.")


def _sentence(wrong: ValidationError) -> str:
    first = wrong.errors()[0]
    where = ".".join(str(part) for part in first["loc"])
    if first["type"] == "extra_forbidden":
        return f"unknown key {where!r}{_did_you_mean(str(first['loc'][-1]))}; remove it or spell it right."
    return f"{where or 'scenario'}: {first['msg'].removeprefix('Value error, ')}; see docs/synthetic.md."


def _did_you_mean(key: str) -> str:
    known = {
        field.alias or name for part in _Part.__subclasses__() for name, field in part.model_fields.items()
    }
    close = difflib.get_close_matches(key, sorted(known), n=1)
    return f" (did you mean {close[0]!r}?)" if close else ""
