"""The season in sentences, as a tired keeper reads them. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from nestwatch.season.tally.page.days import day_list, day_span
from nestwatch.season.tally.records import FemaleSeason, Hatch, Nights, Performance, Season, Share
from nestwatch.season.telling import plural

_MOST_NIGHTS = 12
"""Nights not seen that are named in the first lines; all of them are, in full, further down."""


def headline(season: Season) -> str:
    """`9 attempts, 6 nests, 58 eggs; 31 of 40 settled eggs hatched, 18 pending.`"""
    total = season.total
    if not season.nights.expected and not total.attempts:
        return "No night of the nesting season has passed yet: there is nothing to count."
    if not total.attempts:
        return "No attempt was counted. Read first what was not seen."
    counts = f"{plural(total.attempts, 'attempt')}, {plural(total.nests, 'nest')}"
    return f"{counts}, {_eggs(total.hatch)}; {hatched(total.hatch)}."


def _eggs(hatch: Hatch) -> str:
    return "eggs not counted" if hatch.eggs is None else plural(hatch.eggs, "egg")


def hatched(hatch: Hatch) -> str:
    """`31 of 40 settled eggs hatched, 18 pending`."""
    if not hatch.settled:
        return f"no egg settled yet, {hatch.pending} pending" if hatch.pending else "no egg in a box"
    return f"{hatch.alive} of {plural(hatch.settled, 'settled egg')} hatched, {hatch.pending} pending"


def not_seen(nights: Nights) -> list[str]:
    """What nobody saw, in one to three sentences; [] where every nesting hour of every night was read."""
    return [line for line in (_nights_not_seen(nights), _hours_not_seen(nights)) if line]


def _nights_not_seen(nights: Nights) -> str:
    if not nights.unseen_nights:
        return ""
    count = len(nights.unseen_nights)
    named = day_list(nights.unseen_nights) if count <= _MOST_NIGHTS else "named below"
    return f"Not seen: {count} of {plural(nights.expected, 'night')} ({named})."


def _hours_not_seen(nights: Nights) -> str:
    missing = nights.expected_h - nights.read_h
    if missing < 0.05:
        return ""
    return (
        f"No usable footage for {hours(missing)} of {hours(nights.expected_h)} of nesting time. "
        "A nest of those hours is in these numbers only if somebody found it."
    )


def hours(value: float) -> str:
    """`61 h`, below ten hours with one decimal."""
    return f"{hours_figure(value)}\N{NO-BREAK SPACE}h"


def hours_figure(value: float) -> str:
    """The same without the unit, for a column that has it in its head."""
    return f"{value:.0f}" if value >= 9.95 else f"{value:.1f}"


def counted_nights(nights: Nights) -> str:
    """Which nights stand behind the numbers."""
    if not nights.expected:
        return "No night of the nesting season is counted yet."
    also = (
        f"; {plural(nights.out_of_season, 'night')} scanned out of season too" if nights.out_of_season else ""
    )
    return (
        f"{plural(nights.expected, 'night')} counted, {day_span(*nights.season)}: {nights.scanned} scanned, "
        f"{nights.watched} watched by eye{also}."
    )


def kinds(season: Season) -> str:
    """What the attempts were."""
    total = season.total
    return (
        f"Attempts: {plural(total.nests, 'nest')} with eggs, {plural(total.trials, 'trial dig')}, "
        f"{total.open} still to be dug up."
    )


def due_now(females: Sequence[FemaleSeason]) -> list[str]:
    """A sentence for each female that is due, the first date first."""
    return [_due(each) for each in _by_date(females) if each.is_due]


def due_later(females: Sequence[FemaleSeason]) -> list[str]:
    """A sentence for each female whose window has not opened yet."""
    return [_due(each) for each in _by_date(females) if each.due and not each.is_due]


def _by_date(females: Sequence[FemaleSeason]) -> Iterator[FemaleSeason]:
    return iter(sorted((each for each in females if each.due), key=lambda each: each.due or ()))


def _due(female: FemaleSeason) -> str:
    window = day_span(*female.due) if female.due else ""
    return f"{female.name}: {window} ({female.why or typical(female)})"


def typical(female: FemaleSeason) -> str:
    """`23–26 days between clutches, by her own earlier years`."""
    if female.typical_days is None:
        return "days between clutches not known"
    low, high = female.typical_days
    days = f"{low}" if low == high else f"{low}–{high}"
    by = f", by {female.typical_by}" if female.typical_by else ""
    return f"{days} days between clutches{by}"


def share(value: Share) -> str:
    """`13 of 14 (93 %; 66–100 %)`: the exact 95 % interval; or that there was no case."""
    if value.share is None:
        return "no case yet"
    within = ""
    if value.low is not None and value.high is not None:
        within = f"; {100 * value.low:.0f}–{100 * value.high:.0f} %"
    return f"{value.count} of {value.of} ({100 * value.share:.0f} %{within})"


def performance(seen: Performance) -> list[tuple[str, str]]:
    """(what was asked, the answer) on how nestwatch did here."""
    rate = "" if seen.false_per_night is None else f" ({seen.false_per_night:.2f} a scanned night)"
    return [
        ("Nests you know of, on scanned nights, that it listed", share(seen.recall)),
        ("Nests it called a nest", share(seen.called)),
        ("Digs it called a nest, and you dug up, that held eggs", share(seen.precision)),
        ("Digs called a nest that held none", f"{len(seen.false)}{rate}"),
        ("Digs called a nest that nobody has dug up", str(seen.unsettled)),
    ]


def labelled(digs: Sequence[tuple[date, str]]) -> str:
    """`2026-06-12 dig 1, 2026-06-14 dig 3`, as they are called in the record."""
    return ", ".join(f"{night.isoformat()} dig {label}" for night, label in digs)
