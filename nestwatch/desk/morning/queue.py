"""Which digs come up in the morning, in which order, and which is next. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from nestwatch.season.records import Dig


@dataclass(frozen=True, slots=True)
class Queue:
    """The digs of a morning. `waiting`: of earlier nights and still open, the oldest first; `fresh`: of the
    night itself, best first, settled or not; `rests`: of the night, no digging seen. `current`: the one that
    is shown large, None where all were answered today."""

    waiting: tuple[Dig, ...]
    fresh: tuple[Dig, ...]
    rests: tuple[Dig, ...]
    current: Dig | None

    @property
    def digs(self) -> tuple[Dig, ...]:
        """All, in the order in which they come up."""
        return (*self.waiting, *self.fresh)

    @property
    def left(self) -> int:
        """How many of them are still open."""
        return sum(dig.is_open for dig in self.digs)


def make_queue(
    waiting: Sequence[Dig],
    own: Sequence[Dig],
    today: date,
    zone: ZoneInfo,
    *,
    chosen: int | None = None,
    after: int | None = None,
) -> Queue:
    """The queue of a morning.

    `own`: the night's digs. `chosen`: the number in the record of the dig to show. `after`: of the one just
    answered; the next that was not answered today comes up, from the first again after the last.
    """
    fresh = tuple(dig for dig in own if dig.call != "rest")
    rests = tuple(dig for dig in own if dig.call == "rest")
    digs = (*waiting, *fresh)
    shown = next((dig for dig in (*digs, *rests) if dig.id == chosen), None)
    return Queue(tuple(waiting), fresh, rests, shown or _next((*digs, *rests), len(digs), after, today, zone))


def _next(digs: Sequence[Dig], asked: int, after: int | None, today: date, zone: ZoneInfo) -> Dig | None:
    """The next of the first `asked` digs that was not answered today."""
    place = next((n + 1 for n, dig in enumerate(digs) if dig.id == after), 0) % (asked or 1)
    order = (*digs[place:asked], *digs[:place])
    return next((dig for dig in order if dig.is_open and not answered(dig, today, zone)), None)


def answered(dig: Dig, today: date, zone: ZoneInfo) -> bool:
    """Whether the keeper gave an answer today: one left for later does not come up again the same day."""
    return dig.find is not None and dig.find.entered_at.astimezone(zone).date() == today
