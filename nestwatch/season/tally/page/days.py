"""Days as the season's page writes them, in English whatever the computer's language."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from nestwatch.report.page import MONTHS


def short_day(day: date) -> str:
    """`12 Jun`."""
    return f"{day.day} {MONTHS[day.month - 1][:3]}"


def day_span(first: date, last: date) -> str:
    """`12 Jun`, `12–14 Jun` or `30 Jun – 2 Jul`."""
    if first == last:
        return short_day(first)
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day}–{short_day(last)}"
    return f"{short_day(first)} – {short_day(last)}"


def day_list(days: Sequence[date]) -> str:
    """`12–14 Jun, 3 Jul`; "" for none."""
    return ", ".join(day_span(first, last) for first, last in _runs(sorted(days)))


def _runs(days: Sequence[date]) -> Iterator[tuple[date, date]]:
    """Stretches of days that follow each other, as (first, last)."""
    for n, day in enumerate(days):
        if n == 0 or day - days[n - 1] > timedelta(days=1):
            first = day
        if n + 1 == len(days) or days[n + 1] - day > timedelta(days=1):
            yield first, day
