"""The record in the keeper's words, for the page. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from nestwatch.desk.morning.bars import Bar, make_bar
from nestwatch.report import words
from nestwatch.report.page import long_date
from nestwatch.season import telling
from nestwatch.season.finds import find_words
from nestwatch.season.instants import written
from nestwatch.season.records import Action, Clutch, Dig, Watched
from nestwatch.site.records import Site

SOURCES = {
    "scan": "Of an earlier reading of the night",
    "footage": "Added by hand from footage",
    "eye": "Seen by eye",
    "found": "Known by its eggs",
}
_DAYS_AFTER_H = 72


@dataclass(frozen=True, slots=True)
class Wording:
    """How this site's record is told at one moment, `now` (aware)."""

    site: Site
    now: datetime

    @property
    def zone(self) -> ZoneInfo:
        """The site's time zone."""
        return ZoneInfo(self.site.timezone)

    def call(self, dig: Dig) -> str:
        """`Nest`, `Trial dig, left again`, `Added by hand from footage`."""
        if dig.call is None:
            return SOURCES[dig.source]
        return (
            words.CALLS[dig.call] if dig.listed else f"{words.CALLS[dig.call]} (no longer found by the scan)"
        )

    def sure(self, dig: Dig) -> str:
        """`eggs very likely (93 %)`; "" where no scan judged it."""
        if dig.likelihood is None:
            return ""
        return f"eggs {words.sureness(dig.likelihood)} ({words.percent(dig.likelihood)})"

    def span(self, start: datetime, end: datetime) -> str:
        """`21:14–23:18`, with offsets where the clocks changed between."""
        return telling.span(start, end, self.zone)

    def lasted(self, dig: Dig) -> str:
        """`2 h 04 min`."""
        return words.duration((dig.end - dig.start).total_seconds())

    def since(self, dig: Dig) -> str:
        """`laid about 22:05–22:40, 8 h 10 min ago`; where laying was not told apart, since digging began."""
        start, end, seen = dig.laid
        what = f"laid about {self.span(start, end)}" if seen else "dug"
        return f"{what}, {self.ago(start)}"

    def ago(self, at: datetime) -> str:
        """Hours and minutes for three days, then days and hours."""
        seconds = (self.now - at).total_seconds()
        if seconds < _DAYS_AFTER_H * 3600:
            return f"{words.duration(seconds)} ago"
        return f"{int(seconds // 86400)} days {int(seconds % 86400 // 3600)} h ago"

    def place(self, dig: Dig) -> str:
        """`plan x 2.70 m, y 0.72 m, within 6 cm`, or where in the picture; "" where nothing is known."""
        return telling.place(dig, self.site.units)

    def tape(self, dig: Dig) -> str:
        """`2.07 m from post_se, 1.36 m from post_n`; "" without posts."""
        return words.tape({"tape": dig.tape}, self.site.units)

    def shell(self, dig: Dig) -> str:
        """`about 16.1 cm long`, or ""."""
        centimetres = dig.shell_length_cm
        return "" if centimetres is None else f"about {words.shell(centimetres, self.site.units)} long"

    def find(self, dig: Dig) -> str:
        """`eggs`, `set aside (a hedgehog)`, `not dug yet`; without a find, what is to be done."""
        if dig.find is not None:
            return find_words(dig.find)
        return "still to be dug" if dig.is_open else "nothing to dig"

    def stages(self, dig: Dig) -> Bar:
        """The stages on a bar over the whole dig."""
        return make_bar(
            dig.start, dig.end, self.zone, [(each["stage"], each["from"], each["to"]) for each in dig.stages]
        )

    def day(self, day: date) -> str:
        """`Friday 12 June 2026`."""
        return long_date(day)

    def at(self, at: datetime | None) -> str:
        """`2026-06-13 07:05`, as it is typed; "" for None."""
        return "" if at is None else telling.day_clock(at, self.zone)

    def clock(self, at: datetime) -> str:
        """`07:05`."""
        return f"{at.astimezone(self.zone):%H:%M}"

    def stamp(self, at: datetime) -> str:
        """UTC text for a program."""
        return written(at)

    def clutch(self, clutch: Clutch) -> str:
        """`9 eggs: 8 whole, 1 cracked; of Ada; lifted 2026-06-13 07:10`."""
        return "; ".join((*telling.eggs_and_female(clutch), telling.lifted(clutch, self.zone)))

    def watched(self, watched: Watched) -> str:
        """`21:00–23:30, all pens, by Noor: quiet`."""
        return telling.watch(watched, self.zone)

    def action(self, action: Action) -> str:
        """What was done, in the words of the journal."""
        return action.words
