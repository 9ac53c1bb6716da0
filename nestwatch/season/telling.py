"""Pieces of the record in the keeper's words, the same on the terminal and on the page. Pure."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from nestwatch.report import words
from nestwatch.season.eggs import eggs_words
from nestwatch.season.records import Clutch, Dig, Watched
from nestwatch.site.records import Units


def day_clock(at: datetime, zone: ZoneInfo) -> str:
    """`2026-06-13 06:10`, in the site's time, as it is typed."""
    return f"{at.astimezone(zone):%Y-%m-%d %H:%M}"


def plural(count: int, what: str, many: str | None = None) -> str:
    """`1 nest`, `2 nests`; `many`: where that is not `what` with an s."""
    return f"{count} {what if count == 1 else many or f'{what}s'}"


def span(start: datetime, end: datetime, zone: ZoneInfo) -> str:
    """`21:14–23:18`, with offsets where the clocks changed between."""
    first, last = (at.astimezone(zone) for at in (start, end))
    return words.span(first.isoformat(), last.isoformat(), offset=first.utcoffset() != last.utcoffset())


def place(dig: Dig, units: Units) -> str:
    """`plan x 2.70 m, y 0.72 m, within 6 cm`, or where in the picture; "" where nothing is known."""
    if dig.plan_m is None and dig.pixel is None:
        return ""
    entry = {"plan_m": dig.plan_m, "within_m": dig.within_m, "pixel": dig.pixel}
    return words.place(entry, units)


def eggs_and_female(clutch: Clutch) -> tuple[str, str]:
    """`9 eggs: 8 whole, 1 cracked` and `of Ada`."""
    return eggs_words(clutch.eggs), f"of {clutch.female}" if clutch.female else "female not known"


def lifted(clutch: Clutch, zone: ZoneInfo) -> str:
    """`lifted 2026-06-13 07:10`."""
    return "not lifted yet" if clutch.lifted_at is None else f"lifted {day_clock(clutch.lifted_at, zone)}"


def watch(watched: Watched, zone: ZoneInfo) -> str:
    """`21:00–23:30, all pens, by Noor: quiet`."""
    who = f", by {watched.who}" if watched.who else ""
    note = f": {watched.note}" if watched.note else ""
    return f"{span(watched.start, watched.end, zone)}, {watched.pen or 'all pens'}{who}{note}"
