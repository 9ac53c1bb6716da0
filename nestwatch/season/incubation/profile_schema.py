"""The form of a profile file (docs/incubation.md): keys, types, ranges, and that named sources are there."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from nestwatch.season.incubation.sources import Read

Celsius = Annotated[float, Field(ge=-20, le=60)]
DayCount = Annotated[float, Field(gt=0, le=1500)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Part(_Strict):
    """Anything that may name its source; without one it is shown as having none."""

    source: str | None = None


class SpanPart(Part):
    """A range."""

    low: float
    high: float

    @model_validator(mode="after")
    def _ordered(self) -> SpanPart:
        if self.low > self.high:
            raise ValueError(f"low ({self.low:g}) is above high ({self.high:g}); swap them")
        return self


class CelsiusPart(SpanPart):
    """A range of temperatures."""

    low: Celsius
    high: Celsius


class DaysPart(SpanPart):
    """Days to hatching; `at_c`: the temperatures they hold for."""

    low: DayCount
    high: DayCount
    at_c: tuple[Celsius, Celsius] | None = None


class IncubationPart(_Strict):
    """Temperatures, humidity and days."""

    aim_c: CelsiusPart | None = None
    alarm_c: CelsiusPart | None = None
    humidity: SpanPart | None = None
    days: tuple[DaysPart, ...] = ()


class DevelopmentPart(Part):
    """Either a threshold and a sum with the range they hold for, or points of (°C, days)."""

    threshold_c: Celsius | None = None
    degree_days: Annotated[float, Field(gt=0)] | None = None
    within_c: tuple[Celsius, Celsius] | None = None
    points: tuple[tuple[Celsius, DayCount], ...] = ()

    @model_validator(mode="after")
    def _one_model(self) -> DevelopmentPart:
        line = (self.threshold_c, self.degree_days, self.within_c)
        if bool(self.points) == any(value is not None for value in line):
            raise ValueError("give either threshold_c, degree_days and within_c, or points")
        if self.points and (len(self.points) < 2 or any(a[0] >= b[0] for a, b in pairwise(self.points))):
            raise ValueError("points need two or more temperatures, the coolest first")
        if not self.points and any(value is None for value in line):
            raise ValueError("threshold_c, degree_days and within_c go together")
        if self.within_c is not None and self.within_c[0] >= self.within_c[1]:
            raise ValueError("within_c needs the cooler temperature first")
        if self.threshold_c is not None and self.within_c and self.threshold_c >= self.within_c[0]:
            raise ValueError("threshold_c must lie below within_c")
        return self


class SexPart(Part):
    """Sex by temperature; it is used only with a source."""

    by_temperature: bool
    mixed_c: tuple[Celsius, ...] = ()
    band_c: Annotated[float, Field(ge=0, le=5)] = 1.0
    warmer: Literal["females", "males"] | None = None
    note: str | None = None


class SourcePart(_Strict):
    """One source and how it was read."""

    words: Annotated[str, Field(min_length=3)]
    read: Read


class ProfileFile(_Strict):
    """A whole file."""

    format: Literal["nestwatch-profile/1"]
    name: Annotated[str, Field(min_length=1, max_length=60)]
    latin: str | None = None
    note: str | None = None
    source: dict[str, SourcePart] = {}
    incubation: IncubationPart = IncubationPart()
    development: DevelopmentPart | None = None
    sex: SexPart | None = None
    second_clutch: SpanPart | None = None

    @model_validator(mode="after")
    def _named_sources(self) -> ProfileFile:
        for part in self._parts():
            if part is not None and part.source is not None and part.source not in self.source:
                raise ValueError(f'the source "{part.source}" is not in the file; add [source.{part.source}]')
        return self

    def _parts(self) -> Iterator[Part | None]:
        told = self.incubation
        yield from (told.aim_c, told.alarm_c, told.humidity, *told.days)
        yield from (self.development, self.sex, self.second_clutch)
