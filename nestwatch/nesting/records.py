"""What nesting hands on: digs and visitors of one camera's night.

Places are `(x, y)` pixels of the picture the outlines were drawn on. Instants are aware UTC datetimes.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

Point = tuple[float, float]
StageName = Literal["search", "dig", "lay", "cover"]
Call = Literal["nest", "trial", "rest", "unclear"]
VisitorKind = Literal["larger animal", "person", "smaller animal", "light"]


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of a dig, half open [start, end)."""

    stage: StageName
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Dig:
    """A stay that is worth the keeper's eye, with the call and its reasons (see docs/method.md).

    `start_seen`/`end_seen` are False where the recording begins or ends (or the light changes) inside the
    stay. `chamber` is the egg chamber under the rear of the shell, `chamber_radius_px` holds it in 90 % of
    cases; `body` is the animal's centre. `shell_length_px` is None where the outline was too faint to
    measure. `before_at`, `during_at`, `after_at` are the instants for the pictures; None where no usable
    frame exists on that side. `likelihood` is the probability (0..1) that eggs lie there;
    `likelihood_as_built` what it was before it was fitted to the site's finds, None where it is as built.
    """

    camera: str
    zone: str
    start: datetime
    end: datetime
    start_seen: bool
    end_seen: bool
    call: Call
    likelihood: float
    reasons: tuple[str, ...]
    stages: tuple[Stage, ...]
    chamber: Point
    chamber_radius_px: float
    body: Point
    shell_length_px: float | None
    in_nesting_hours: bool
    before_at: datetime | None
    during_at: datetime
    after_at: datetime | None
    likelihood_as_built: float | None = None

    @property
    def as_built(self) -> float:
        """The likelihood before any fit to the site's finds."""
        return self.likelihood if self.likelihood_as_built is None else self.likelihood_as_built


@dataclass(frozen=True, slots=True)
class Stop:
    """A place at which a visitor stayed for a minute or more."""

    start: datetime
    end: datetime
    place: Point


@dataclass(frozen=True, slots=True)
class Visitor:
    """Something that came by and is not a dig. `place` is None for a light that filled the picture; `stops`:
    where it stayed, by time."""

    camera: str
    start: datetime
    end: datetime
    what: VisitorKind
    place: Point | None
    stops: tuple[Stop, ...] = ()
