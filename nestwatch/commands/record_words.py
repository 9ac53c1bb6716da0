"""Entries of the record as lines for the terminal."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from nestwatch.report import words
from nestwatch.season import telling
from nestwatch.season.finds import find_words
from nestwatch.season.records import Action, Change, Clutch, Dig, Footage, Night, Watched
from nestwatch.season.telling import day_clock, span
from nestwatch.site.records import Site

_SOURCES = {
    "scan": "of an earlier scan",
    "footage": "added from footage",
    "eye": "seen by eye",
    "found": "found by its eggs",
}


def dig_line(dig: Dig, site: Site, now: datetime) -> str:
    """`2026-06-12 dig 1: Nest, very likely (93 %), 21:14–23:18; laid about ...; plan x ...`."""
    parts = [f"{_what(dig)}, {span(dig.start, dig.end, ZoneInfo(site.timezone))}"]
    parts += [_since_laying(dig, ZoneInfo(site.timezone), now)] if dig.is_open else [find_words(dig.find)]
    if dig.find is not None and dig.is_open:
        parts.append(find_words(dig.find))
    parts += [where] if (where := telling.place(dig, site.units)) else []
    return f"{dig.night} dig {dig.label}: {'; '.join(parts)}"


def night_lines(night: Night) -> Iterator[str]:
    """What cameras and people saw of a night."""
    if night.scanned_at is None:
        yield "This night was not scanned: what the cameras saw of it is not known."
    yield from (footage_line(each) for each in night.footage)
    yield from (f"not seen: {each['camera']} {_entry_span(each)}: {each['why']}" for each in night.not_seen)


def _entry_span(entry: Mapping[str, Any]) -> str:
    return words.span(entry["from"], entry["to"])


def moved_line(dig: Dig) -> str | None:
    """A warning where the dig had another number before the night was scanned again."""
    if dig.rank_before is None or str(dig.rank_before) == dig.label:
        return None
    return f"Before the night was scanned again, this was dig {dig.rank_before}."


def clutch_line(clutch: Clutch, zone: ZoneInfo) -> str:
    """`2026-06-12 dig 1: 9 eggs: 9 whole; of Ada; laid ...; lifted ...`."""
    by = "as you said" if clutch.laid_by == "keeper" else "by the dig"
    parts = [
        *telling.eggs_and_female(clutch),
        f"laid {day_clock(clutch.laid_at, zone)} ({by})",
        telling.lifted(clutch, zone),
        *([clutch.note] if clutch.note else []),
    ]
    return f"{clutch.night} dig {clutch.label}: {'; '.join(parts)}"


def watched_line(watched: Watched, zone: ZoneInfo) -> str:
    """`2026-06-12 21:00–23:30, all pens, by Noor: quiet`."""
    return f"{watched.night} {telling.watch(watched, zone)}"


def action_line(action: Action, zone: ZoneInfo) -> str:
    """`12  2026-06-13 07:05  2026-06-12 dig 1: eggs`."""
    undone = "  (taken back)" if action.undone else ""
    return f"{action.id}  {day_clock(action.at, zone)}  {action.words}{undone}"


def footage_line(footage: Footage) -> str:
    """`sandbank: read 8 h 10 min of 9 h nesting time`; or of the night, where nesting time was not told."""
    read, of, what = footage.nesting_seconds_read, footage.nesting_seconds_expected, "nesting time"
    if read is None or of is None:
        read, of, what = footage.seconds_read, footage.seconds_expected, "the night"
    return f"{footage.camera}: read {words.duration(read)} of {words.duration(of)} of {what}"


def change_lines(changes: Sequence[Change], zone: ZoneInfo, females: Mapping[int, str]) -> Iterator[str]:
    """Each change with its time, and what was there before. `females`: their names by number."""
    for change in changes:
        told = [
            f"{name} {_value(name, before, zone, females)} -> {_value(name, after, zone, females)}"
            for name, (before, after) in change.values.items()
            if name not in {"dig", "entered_at"}
        ]
        what = ", ".join(told) or ("begun" if "dig" in change.values else "no value changed")
        yield f"{change.action.id}  {day_clock(change.action.at, zone)}  {change.entry}: {what}"


def _value(name: str, value: Any, zone: ZoneInfo, females: Mapping[int, str]) -> str:
    if value is None:
        return "nothing"
    if name == "female":
        return females.get(value, "a female taken back since")
    if isinstance(value, str) and value.endswith("Z") and value[4:5] == "-":
        return day_clock(datetime.fromisoformat(value), zone)
    return str(value)


def _what(dig: Dig) -> str:
    if dig.call is None or dig.likelihood is None:
        return _SOURCES[dig.source].capitalize()
    sure = f"{words.CALLS[dig.call]}, {words.sureness(dig.likelihood)} ({words.percent(dig.likelihood)})"
    return sure if dig.listed else f"{sure}, {_SOURCES[dig.source]}"


def _since_laying(dig: Dig, zone: ZoneInfo, now: datetime) -> str:
    start, end, seen = dig.laid
    ago = f"{_age((now - start).total_seconds())} ago"
    if seen:
        return f"laid about {span(start, end, zone)}, {ago}"
    return f"laying was not told apart; dug {ago}"


def _age(seconds: float) -> str:
    """Hours and minutes for two days, then days."""
    return words.duration(seconds) if seconds < 48 * 3600 else f"{int(seconds // 86400)} days"
