"""What the record holds of incubation, as it is read out.

Instants are aware UTC datetimes, temperatures degrees Celsius, masses grams, lengths millimetres. None is
unknown or not said. `version` counts an entry's changes.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

Outcome = Literal["alive", "dead-in-shell", "infertile", "lost"]
"""What became of an egg: hatched alive; dead in the shell; infertile; lost before (spoilt, broken, taken)."""
Saw = Literal["developing", "clear", "dead", "mould", "dented", "sweating", "pipped", "other"]
"""What a check showed; `clear`: nothing to be seen in the light."""
Lies = Literal["substrate", "air"]

OUTCOMES: tuple[Outcome, ...] = get_args(Outcome)
SAW: tuple[Saw, ...] = get_args(Saw)

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """Readings of one probe, ascending in time: `seconds` since 1970 UTC, `celsius`, `humidity` (per cent,
    NaN where not read), all of shape (n,)."""

    seconds: Floats
    celsius: Floats
    humidity: Floats

    def between(self, start: datetime, end: datetime) -> Series:
        """The readings from `start` to `end`, both included."""
        keep = (self.seconds >= start.timestamp()) & (self.seconds <= end.timestamp())
        return Series(self.seconds[keep], self.celsius[keep], self.humidity[keep])

    @property
    def last(self) -> datetime | None:
        """When the last reading was taken."""
        return datetime.fromtimestamp(float(self.seconds[-1]), UTC) if len(self.seconds) else None


@dataclass(frozen=True, slots=True)
class Container:
    """A box with its medium. `dry_g` medium and `water_g` water by mass; `start_g`: the whole box with eggs,
    weighed when it was set up; `profile`: key of its species profile, None for the site's animal."""

    id: int
    version: int
    label: str
    profile: str | None
    medium: str | None
    dry_g: float | None
    water_g: float | None
    start_g: float | None
    incubator: str | None
    shelf: str | None
    set_up_at: datetime
    note: str | None


@dataclass(frozen=True, slots=True)
class Egg:
    """One egg in a box. `top_marked` None: not said. `outcome` None: not settled."""

    id: int
    version: int
    clutch: int
    night: date
    dig_label: str
    container: int
    container_label: str
    position: str
    top_marked: bool | None
    put_at: datetime
    outcome: Outcome | None

    @property
    def of(self) -> str:
        """`2026-06-12 dig 1`."""
        return f"{self.night} dig {self.dig_label}"


@dataclass(frozen=True, slots=True)
class Probe:
    """A thermometer: in a box, or in an incubator for all boxes there (neither: it tells of none)."""

    id: int
    version: int
    name: str
    container: int | None
    incubator: str | None
    lies: Lies | None
    note: str | None


@dataclass(frozen=True, slots=True)
class Batch:
    """Readings taken in together. `how`: how the file was read, in words; `file` None for hand entries."""

    id: int
    version: int
    probe: str
    file: str | None
    how: str
    count: int
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Weighing:
    """A box weighed: `total_g` before, `added_g` of water then."""

    id: int
    version: int
    container: int
    at: datetime
    total_g: float
    added_g: float | None


@dataclass(frozen=True, slots=True)
class Check:
    """One look at an egg (`position`), or at the whole box (`egg` None)."""

    id: int
    version: int
    container: int
    egg: int | None
    position: str | None
    at: datetime
    saw: Saw
    note: str | None


@dataclass(frozen=True, slots=True)
class Hatching:
    """What became of one egg. `name`: of the hatchling; `left_at`: when it left the incubator."""

    id: int
    version: int
    egg: int
    container: int
    container_label: str
    position: str
    of: str
    at: datetime
    outcome: Outcome
    mass_g: float | None
    shell_mm: float | None
    name: str | None
    left_at: datetime | None
    note: str | None


@dataclass(frozen=True, slots=True)
class Growth:
    """One measurement of a hatchling in its head start."""

    id: int
    version: int
    hatching: int
    name: str
    at: datetime
    mass_g: float | None
    shell_mm: float | None
    note: str | None
