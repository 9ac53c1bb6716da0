"""Each female's clutches along the season, the days between them, and when another may come."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from markupsafe import Markup
from matplotlib.axes import Axes

from nestwatch.report.marking.setting import Box, paper, put
from nestwatch.season.tally.page.days import day_span, short_day
from nestwatch.season.tally.page.drawing import (
    FADED,
    INK,
    RULE,
    SMALL,
    STRIPED,
    TEXT,
    WIDTH_MM,
    cut,
    date_ticks,
    day_axis,
    fill,
    key_height,
    line,
    width_of,
    write,
)
from nestwatch.season.tally.page.inline import inline_svg
from nestwatch.season.tally.records import FemaleSeason

_ROW_MM = 17.0
_BELOW_MM = 6.0
_ROWS_A_CHART = 10
_EDGE_MM = 4.0
_GAP_MM = 1.5


@dataclass(frozen=True, slots=True)
class _Span:
    """Days onto millimetres of the paper."""

    first: date
    last: date

    def x(self, day: date) -> float:
        days = max((self.last - self.first).days, 1)
        return _EDGE_MM + (day - self.first).days * (WIDTH_MM - 2 * _EDGE_MM) / days


def timelines(females: Sequence[FemaleSeason], season: tuple[date, date]) -> list[Markup]:
    """A row for every female with a clutch or a due window; many females are told in several charts."""
    shown = [female for female in females if female.clutches or female.due]
    span = _span(shown, season)
    groups = [shown[n : n + _ROWS_A_CHART] for n in range(0, len(shown), _ROWS_A_CHART)]
    return [_timeline(group, span, f"females{n}") for n, group in enumerate(groups)]


def _span(females: Sequence[FemaleSeason], season: tuple[date, date]) -> _Span:
    days = [*season, *(day for female in females for day in (*female.clutches, *(female.due or ())))]
    return _Span(min(days) - timedelta(days=1), max(days) + timedelta(days=1))


def _timeline(females: Sequence[FemaleSeason], span: _Span, name: str) -> Markup:
    top = key_height(["clutch"])
    bottom = top + _ROW_MM * len(females)
    figure, axes = paper(WIDTH_MM, bottom + _BELOW_MM)
    _key(axes)
    ticks = [(day, span.x(day)) for day in date_ticks(span.first, span.last)]
    day_axis(axes, ticks, Box(_EDGE_MM, top, WIDTH_MM - 2 * _EDGE_MM, bottom - top))
    for n, female in enumerate(females):
        _row(axes, female, span, top + n * _ROW_MM)
    return inline_svg(figure, name)


def _key(axes: Axes) -> None:
    _mark(axes, 2.5, 2.3)
    write(axes, 5.5, 3.4, "clutch", size=TEXT, colour=INK)
    fill(axes, Box(22, 0.8, 5, 2.8), STRIPED)
    put(axes, 28.3, 3.4, "another may come", size=TEXT, colour=INK)


def _mark(axes: Axes, x: float, y: float) -> None:
    axes.plot([x], [y], ls="none", marker="D", ms=5.5, color=INK, mec=INK, zorder=6, clip_on=False)


def _row(axes: Axes, female: FemaleSeason, span: _Span, top: float) -> None:
    line(axes, (0, top), (WIDTH_MM, top), color=RULE, lw=0.5)
    _name(axes, female, top + 4.2)
    y = top + 11.2
    line(axes, (_EDGE_MM, y), (WIDTH_MM - _EDGE_MM, y), color=INK, lw=0.7, zorder=2)
    if female.due:
        first, last = (span.x(day) for day in female.due)
        width = max(last - first, 1.5)
        fill(axes, Box(first, y - 2, width, 4), STRIPED, zorder=4)
    for day in female.clutches:
        _mark(axes, span.x(day), y)
    _dates(axes, female, span, y - 2.9)
    _between(axes, female, span, y + 4.6)


def _name(axes: Axes, female: FemaleSeason, y: float) -> None:
    """Her name at the left, what is to be expected at the right."""
    told = _told(female)
    room = WIDTH_MM - 2 - width_of(told, size=TEXT, bold=female.is_due) - 3
    put(axes, 1, y, cut(female.name, room, size=TEXT, bold=True), size=TEXT, bold=True, colour=INK)
    write(
        axes,
        WIDTH_MM - 1,
        y,
        told,
        size=TEXT,
        bold=female.is_due,
        colour=INK if female.is_due else FADED,
        align="right",
    )


def _told(female: FemaleSeason) -> str:
    if female.due is None:
        return ""
    return f"{'DUE' if female.is_due else 'due'} {day_span(*female.due)}"


def _dates(axes: Axes, female: FemaleSeason, span: _Span, y: float) -> None:
    """The dates over their marks, where there is room."""
    free = 0.0
    for day in female.clutches:
        width = width_of(short_day(day), size=SMALL)
        left = min(max(span.x(day) - width / 2, 0.5), WIDTH_MM - width)
        if left >= free:
            put(axes, left, y, short_day(day), size=SMALL, colour=INK)
            free = left + width + _GAP_MM


def _between(axes: Axes, female: FemaleSeason, span: _Span, y: float) -> None:
    """The days between clutches under the line, where there is room."""
    pairs = zip(female.clutches, female.clutches[1:], female.days_between, strict=False)
    for first, last, days in pairs:
        word = f"{days} d"
        if width_of(word, size=SMALL) <= span.x(last) - span.x(first):
            middle = (span.x(first) + span.x(last)) / 2
            write(axes, middle, y, word, size=SMALL, colour=FADED, align="center")
