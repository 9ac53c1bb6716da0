"""What the record holds, as it is read out.

Instants are aware UTC datetimes. A night is named by the date of its evening. Places on the plan are `(x, y)`
metres, in a picture `(x, y)` pixels of the picture size in the site file. None is unknown or not said.
`version` is handed back when an entry is changed, so that it is changed only while it is as it was shown.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal, get_args

from nestwatch.season.instants import read

Point = tuple[float, float]
Found = Literal["eggs", "empty", "not-yet", "set-aside"]
"""What the keeper found: eggs; nothing; not dug up yet; not to be dug (a false one), with the reason."""
Source = Literal["scan", "footage", "eye", "found"]
"""How a dig came into the record: from a scan, by hand from footage, seen by eye, or its eggs were found."""
Call = Literal["nest", "trial", "rest", "unclear"]

FOUND: tuple[Found, ...] = get_args(Found)
SOURCES: tuple[Source, ...] = get_args(Source)


@dataclass(frozen=True, slots=True)
class Find:
    """The keeper's word on one dig. `why` says why it was set aside or left for later."""

    id: int
    version: int
    found: Found
    why: str | None
    entered_at: datetime


@dataclass(frozen=True, slots=True)
class Eggs:
    """Eggs at lifting by state, each None where not counted.

    Whole; dented (the shell is turned in); cracked (nothing runs out); broken (it runs out). The four are
    common practice, no source. Fertile or not is not told here: that shows in incubation.
    """

    whole: int | None = None
    dented: int | None = None
    cracked: int | None = None
    broken: int | None = None

    @property
    def total(self) -> int | None:
        """All eggs that were counted; None where none was."""
        counted = [n for n in (self.whole, self.dented, self.cracked, self.broken) if n is not None]
        return sum(counted) if counted else None


@dataclass(frozen=True, slots=True)
class Clutch:
    """The eggs of one dig.

    `laid_at`: when, by `laid_by`: the keeper, or the dig (its laying stage where one was seen, else its
    beginning). `lifted_at` is None while the eggs are in the ground. `female`: her name.
    """

    id: int
    version: int
    dig: int
    night: date
    label: str
    female: str | None
    laid_at: datetime
    laid_by: Literal["keeper", "dig"]
    lifted_at: datetime | None
    eggs: Eggs
    note: str | None


@dataclass(frozen=True, slots=True)
class Dig:
    """One dig of one night.

    `label` is what the keeper calls it: its rank on the night's page, or a letter where it is not on that
    page (added by hand, or of an earlier scan). `rank_before`: its rank before the night was scanned again.
    `listed`: in the latest scan. `call`, `likelihood`: None where no scan saw it; `likelihood_as_built`: what
    it was before it was fitted to the site's finds, None where it is as built. `stages` are objects
    `{stage, from, to}`, `tape` `{post, m}`, as in the night file; `pictures` and `clip` are relative to the
    night's folder, and may be gone.
    """

    id: int
    version: int
    night: date
    label: str
    source: Source
    listed: bool
    rank: int | None
    rank_before: int | None
    camera: str | None
    cameras: tuple[str, ...]
    zone: str | None
    pen: str | None
    start: datetime
    end: datetime
    call: Call | None
    likelihood: float | None
    reasons: tuple[str, ...]
    stages: tuple[Mapping[str, Any], ...]
    tape: tuple[Mapping[str, Any], ...]
    pixel: Point | None
    within_px: float | None
    plan_m: Point | None
    within_m: float | None
    shell_length_cm: float | None
    in_nesting_hours: bool | None
    pictures: Mapping[str, str | None]
    clip: str | None
    note: str | None
    find: Find | None
    likelihood_as_built: float | None = None

    @property
    def as_built(self) -> float | None:
        """The likelihood before any fit to the site's finds; None where no scan saw it."""
        return self.likelihood if self.likelihood_as_built is None else self.likelihood_as_built

    @property
    def laid(self) -> tuple[datetime, datetime, bool]:
        """(earliest, latest, seen): the stage of laying where it was seen, else the whole dig."""
        lay = next((stage for stage in self.stages if stage["stage"] == "lay"), None)
        if lay is None:
            return self.start, self.end, False
        return read(lay["from"]), read(lay["to"]), True

    @property
    def is_open(self) -> bool:
        """True where the keeper has still to dig (or to say that it is not worth it).

        A dig that the latest scan does not find any more stays open where it was called a nest.
        """
        if self.find is not None:
            return self.find.found == "not-yet"
        return self.call != "rest" if self.listed else self.source != "scan" or self.call == "nest"


@dataclass(frozen=True, slots=True)
class Footage:
    """One camera's account of one night; lists are those of the night file (docs/night-file.md)."""

    camera: str
    start: datetime
    end: datetime
    seconds_expected: float
    seconds_read: float
    nesting_seconds_expected: float | None
    nesting_seconds_read: float | None
    looked_min: float | None
    zone_seen: Mapping[str, Any] | None
    gaps: tuple[Mapping[str, Any], ...]
    health: tuple[Mapping[str, Any], ...]
    unreadable: tuple[Mapping[str, Any], ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Watched:
    """A stretch of a night watched by eye. `pen` is None for all pens."""

    id: int
    version: int
    night: date
    pen: str | None
    start: datetime
    end: datetime
    who: str | None
    note: str | None


@dataclass(frozen=True, slots=True)
class Night:
    """One night with all that is known of it.

    `scanned_at` is None where it was never scanned. `folder` is relative to the site's folder where it lies
    in it. `raids`, `clocks`, `not_seen` are the lists of the night file.
    """

    date: date
    start: datetime
    end: datetime
    nesting: tuple[datetime, datetime] | None
    scanned_at: datetime | None
    folder: str | None
    raids: tuple[Mapping[str, Any], ...]
    clocks: tuple[Mapping[str, Any], ...]
    not_seen: tuple[Mapping[str, Any], ...]
    footage: tuple[Footage, ...]
    digs: tuple[Dig, ...]
    watched: tuple[Watched, ...]


@dataclass(frozen=True, slots=True)
class CalendarNight:
    """What a calendar shows of a night. `seen`: share of the nesting hours that cameras read, 0..1, the best
    camera's; None where it was not scanned. `nests`: digs with eggs. `open`: digs still to be settled."""

    date: date
    digs: int
    nests: int
    open: int
    seen: float | None
    watched: bool


@dataclass(frozen=True, slots=True)
class Female:
    """A female. `marks`: notches or other marks in words. `photograph` is relative to the site's folder."""

    id: int
    version: int
    name: str
    marks: str | None
    shell_length_cm: float | None
    photograph: str | None
    note: str | None
    clutches: int


@dataclass(frozen=True, slots=True)
class Action:
    """One thing done to the record. `undoes`: the action it took back; `undone`: it was itself taken back."""

    id: int
    at: datetime
    by: Literal["keeper", "scan"]
    words: str
    undoes: int | None
    undone: bool


@dataclass(frozen=True, slots=True)
class Change:
    """What an action did to one entry: the values that became different, as (before, after).

    `entry` is the kind of entry (`find`, `clutch`, ...), `row` its number in the record.
    """

    action: Action
    entry: str
    row: int
    values: Mapping[str, tuple[Any, Any]]
