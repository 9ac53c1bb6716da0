"""What the season's tally is made of, as it is read out.

Instants are aware UTC datetimes; hours, weeks and dates are the site's own. A night is named by the date of
its evening. Places are `(x, y)` metres on the plan of a pen. None is unknown or not said; nothing unknown is
counted as nought.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from nestwatch.season.records import Call, Point, Source

Kind = Literal["nest", "trial", "open", "false"]
"""`nest`: eggs were found. `trial`: she dug and no eggs were there, by the keeper's dig or, where nobody
dug, by the call. `open`: still to be settled. `false`: set aside, so no attempt at all."""


@dataclass(frozen=True, slots=True)
class Share:
    """`of` cases, `count` of them so; `low`, `high`: exact 95 % binomial interval (Clopper and Pearson
    1934), each 0..1 and None where there was no case."""

    count: int
    of: int
    low: float | None
    high: float | None

    @property
    def share(self) -> float | None:
        """0..1, None where there was no case."""
        return self.count / self.of if self.of else None


@dataclass(frozen=True, slots=True)
class Hatch:
    """What became of eggs. `eggs`: counted at lifting (None: not counted); the other numbers are eggs in
    boxes.

    `pending`: in a box and not settled. Eggs that were lifted and put into no box are only in `eggs`.
    """

    eggs: int | None
    alive: int
    dead_in_shell: int
    infertile: int
    lost: int
    pending: int

    @property
    def settled(self) -> int:
        """Eggs of which is known what became of them."""
        return self.alive + self.dead_in_shell + self.infertile + self.lost


@dataclass(frozen=True, slots=True)
class Weather:
    """The weather of one night's nesting hours: means of the rows inside them. `rain_mm` is their sum."""

    celsius: float | None
    rain_mm: float | None


@dataclass(frozen=True, slots=True)
class Attempt:
    """One dig as the season counts it; those called rest and never dug up are none.

    `dig`: its number in the record, `label` what the keeper calls it that night. `at`: when the eggs were
    laid (the keeper's word, else the laying stage), of other kinds the start. `hour`: of `at`, 0..23;
    `week`: Monday of the night's week. `listed`: in the latest scan of its night; `scanned`: its night was
    scanned. `likelihood`: as the program was built, before any fit to this site. `seen`: a camera saw its pen
    (any pen, where its own is not known) for an hour or more of that night's nesting time.
    """

    dig: int
    night: date
    label: str
    kind: Kind
    source: Source
    call: Call | None
    likelihood: float | None
    listed: bool
    scanned: bool
    at: datetime
    end: datetime
    hour: int
    week: date
    pen: str | None
    zone: str | None
    female: str | None
    plan_m: Point | None
    within_m: float | None
    clutch: int | None
    hatch: Hatch | None
    weather: Weather | None
    seen: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """Attempts of one group: a female, a pen, a zone, an hour, a week, a kind of weather.

    `name` is None where it is not known which. `hatched`: alive of the settled eggs. `nights`, `hours`:
    nights and hours of nesting time that cameras saw in this group, None where the group has no such measure
    (females, hours outside nesting time, zones that are in the site file no more). A night counts where an
    hour of it was seen; for an hour of the clock, half of that hour. `seen`: attempts in nights in which
    their pen was seen: only these may be divided by what was seen.
    """

    name: str | None
    attempts: int
    nests: int
    trials: int
    open: int
    hatch: Hatch
    hatched: Share
    nights: int | None
    hours: float | None
    seen: int = 0

    @property
    def per_ten_hours(self) -> float | None:
        """Attempts in ten hours that were seen; None without a measure, or where nothing was seen."""
        return 10 * self.seen / self.hours if self.hours else None


By = Literal["female", "pen", "zone", "hour", "week", "temperature", "rain"]


@dataclass(frozen=True, slots=True)
class CameraHours:
    """Hours of nesting time of one camera: expected of it, and usable: read by the scans and, where that was
    measured, clear enough to judge. `nights`: those with an hour of it."""

    camera: str
    pen: str | None
    nights: int
    expected_h: float
    read_h: float


@dataclass(frozen=True, slots=True)
class Nights:
    """What was looked at, so that rates have honest denominators. Nights of the nesting season up to today.

    `season`: (first, last) night that is counted; the last is before the first where the season has still to
    begin. `expected`: nights in it; `scanned`: with a scan; `dark`: scanned, but no camera has an hour of
    usable nesting time; `watched`: by eye, in part or whole, scanned or not; `unseen`: not scanned or dark,
    and not watched; `unseen_nights`: their dates. `out_of_season`: scanned nights outside of the nesting
    season, in none of these numbers. Hours are of nesting time, of those nights too: expected of every pen
    that has a camera, and usable (as `CameraHours`); one pen's hours are its best camera's of each night.
    """

    season: tuple[date, date]
    expected: int
    scanned: int
    dark: int
    watched: int
    unseen: int
    unseen_nights: tuple[date, ...]
    expected_h: float
    read_h: float
    out_of_season: int
    cameras: tuple[CameraHours, ...]


@dataclass(frozen=True, slots=True)
class FemaleSeason:
    """One female's clutches of the year, by date.

    `days_between`: from each clutch to the next. `typical_days`: (low, high) between clutches, by
    `typical_by` (her own earlier years, the females of this site, the species profile), None where nothing
    is known. `due`: (first, last) date on which another clutch may come, None where none is to be expected,
    with the reason in `why`; for a female that has not laid this year, by the first clutches of her own
    earlier years. `is_due`: that window is open and she has not laid since. `eggs`: those that were counted.
    """

    name: str
    clutches: tuple[date, ...]
    eggs: int | None
    days_between: tuple[int, ...]
    typical_days: tuple[int, int] | None
    typical_by: str | None
    due: tuple[date, date] | None
    is_due: bool
    why: str


@dataclass(frozen=True, slots=True)
class MapNest:
    """A nest on the plan of a pen. `year` of its night; `female` None where not known."""

    pen: str
    plan_m: Point
    within_m: float | None
    night: date
    label: str
    year: int
    female: str | None


@dataclass(frozen=True, slots=True)
class Performance:
    """How nestwatch did on this site, judged by the keeper's finds on scanned nights alone.

    `recall`: of the nests known to the keeper, those a scan listed as a dig (any call but rest); `called`:
    those it called nest. `precision`: of the settled digs it called nest, those with eggs. `missed`: nests
    no scan listed, `false`: digs called nest that held none; each (night, label). `false_per_night`: false
    digs per scanned night. `unsettled`: digs called nest that nobody has dug up.
    """

    recall: Share
    called: Share
    precision: Share
    missed: tuple[tuple[date, str], ...]
    false: tuple[tuple[date, str], ...]
    false_per_night: float | None
    unsettled: int


@dataclass(frozen=True, slots=True)
class Season:
    """The tally of one year. `groups`: rows by what they are grouped by, ordered for reading.

    `total`: everything in one row. `earlier`: nests of earlier years for the map. `notes`: sentences that a
    reader of the numbers must know (digs without a pen, eggs not counted, weather rows that were left out).
    """

    site: str
    year: int
    nights: Nights
    attempts: tuple[Attempt, ...]
    total: Row
    groups: Mapping[By, tuple[Row, ...]]
    females: tuple[FemaleSeason, ...]
    nests: tuple[MapNest, ...]
    earlier: tuple[MapNest, ...]
    performance: Performance
    notes: tuple[str, ...]
