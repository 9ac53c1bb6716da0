"""Columns over time and bars by group: attempts, and what became of eggs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from markupsafe import Markup
from matplotlib.axes import Axes

from nestwatch.report.marking.setting import Box, paper, put
from nestwatch.season.tally.page.drawing import (
    CROSSED,
    FADED,
    HOLLOW,
    INK,
    LEVEL,
    SMALL,
    SOLID,
    STRIPED,
    TEXT,
    UNSEEN,
    UPRIGHT,
    WIDTH_MM,
    Part,
    count_ticks,
    cut,
    date_ticks,
    day_axis,
    fill,
    key,
    key_height,
    line,
    width_of,
)
from nestwatch.season.tally.page.inline import inline_svg
from nestwatch.season.tally.records import Attempt, Hatch, Row

_LEFT, _RIGHT = 8.0, 95.0
_COLUMNS_MM = 42.0
_HOURS_MM = 16.0
_BELOW_MM = 7.0
_UNDER_MM = 1.8  # a night not seen shows below the columns too, however high they are
_BAR_ROW_MM = 10.5
_ROWS_A_CHART = 14
"""More rows than this go into a chart of their own, so that none is taller than a page."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column from `left` to `right`, in the chart's own measure, of parts from the ground up."""

    left: float
    right: float
    parts: tuple[Part, ...]

    @property
    def height(self) -> float:
        """All parts together."""
        return sum(part.count for part in self.parts)


@dataclass(frozen=True, slots=True)
class Bar:
    """A horizontal bar: its name, what is said beside it, and its parts."""

    name: str
    note: str
    parts: tuple[Part, ...]


def attempt_parts(row: Row) -> tuple[Part, ...]:
    """Attempts of a group by what they were."""
    return _kinds(row.nests, row.trials, row.open)


def _kinds(nests: int, trials: int, still_open: int) -> tuple[Part, ...]:
    return (
        Part("nest", SOLID, nests),
        Part("trial dig", STRIPED, trials),
        Part("still open", HOLLOW, still_open),
    )


def egg_parts(hatch: Hatch) -> tuple[Part, ...]:
    """Eggs of a group by what became of them; those in no box last."""
    boxed = hatch.settled + hatch.pending
    return (
        Part("hatched", SOLID, hatch.alive),
        Part("dead in shell", CROSSED, hatch.dead_in_shell),
        Part("infertile", UPRIGHT, hatch.infertile),
        Part("lost", LEVEL, hatch.lost),
        Part("pending", HOLLOW, hatch.pending),
        Part("in no box", STRIPED, max((hatch.eggs or 0) - boxed, 0)),
    )


def weeks_chart(attempts: Sequence[Attempt], season: tuple[date, date], unseen: Sequence[date]) -> Markup:
    """Attempts in each week, over the nights that nobody saw. A chart without attempts is an empty field."""
    counted = [each for each in attempts if each.kind != "false"]
    first, last = _reach(counted, season)
    columns = [_week(counted, first + timedelta(weeks=n)) for n in range((last - first).days // 7 + 1)]
    days = (last - first).days + 7
    words = [part.word for part in columns[0].parts]
    top = key_height([*words, "night not seen"])
    height = top + _COLUMNS_MM + _BELOW_MM
    figure, axes = paper(WIDTH_MM, height)
    key(axes, [*((part.word, part.look) for part in columns[0].parts), ("night not seen", UNSEEN)])
    box = Box(_LEFT, top, _RIGHT - _LEFT, _COLUMNS_MM)
    for left, right in _stretches([(day - first).days for day in unseen]):
        x, end = (box.left + box.width * max(0, min(n, days)) / days for n in (left, right))
        fill(axes, Box(x, box.top, end - x, box.height + _UNDER_MM), UNSEEN, zorder=0)
    placed = [Column(7 * n + 0.7, 7 * n + 6.3, column.parts) for n, column in enumerate(columns)]
    _columns(axes, placed, box, days)
    day_axis(axes, _placed_ticks(first, last, box, days), box)
    return inline_svg(figure, "weeks")


def _reach(attempts: Sequence[Attempt], season: tuple[date, date]) -> tuple[date, date]:
    """Mondays of the first and the last week that has to be shown."""
    days = [*season, *(each.night for each in attempts)]
    first, last = min(days), max(days)
    return first - timedelta(days=first.weekday()), last - timedelta(days=last.weekday())


def _week(attempts: Sequence[Attempt], monday: date) -> Column:
    kinds = [each.kind for each in attempts if each.week == monday]
    counts = (kinds.count("nest"), kinds.count("trial"), kinds.count("open"))
    return Column(0, 7, _kinds(*counts))


def _stretches(days: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Nights side by side are one field: (from, to)."""
    marked = sorted(set(days))
    starts = [day for day in marked if day - 1 not in marked]
    ends = [day + 1 for day in marked if day + 1 not in marked]
    return zip(starts, ends, strict=True)


def _placed_ticks(first: date, last: date, box: Box, days: int) -> list[tuple[date, float]]:
    return [(day, box.left + box.width * (day - first).days / days) for day in date_ticks(first, last)]


def hours_chart(rows: Sequence[Row]) -> Markup:
    """Attempts by the hour in which they began, and below them how many hours of that hour were seen."""
    words = [part.word for part in attempt_parts(rows[0])]
    top = key_height(words)
    seen = any(row.hours is not None for row in rows)
    height = top + _COLUMNS_MM + _BELOW_MM + (_HOURS_MM + 3 if seen else 0)
    figure, axes = paper(WIDTH_MM, height)
    key(axes, [(part.word, part.look) for part in attempt_parts(rows[0])])
    box = Box(_LEFT, top, _RIGHT - _LEFT, _COLUMNS_MM)
    columns = [Column(n + 0.15, n + 0.85, attempt_parts(row)) for n, row in enumerate(rows)]
    _columns(axes, columns, box, len(rows))
    _names(axes, rows, box)
    if seen:
        under = Box(box.left, box.bottom + _BELOW_MM + 5, box.width, _HOURS_MM - 5)
        _hours_seen(axes, rows, under)
    return inline_svg(figure, "hours")


def _names(axes: Axes, rows: Sequence[Row], box: Box) -> None:
    """The hours, as many as have room."""
    each = box.width / len(rows)
    words = ["?" if row.name is None else row.name.removesuffix(":00") for row in rows]
    step = next(n for n in range(1, 25) if max(width_of(w, size=SMALL) for w in words) + 1.5 < n * each)
    for n, word in enumerate(words):
        if n % step == 0:
            put(
                axes,
                box.left + (n + 0.5) * each,
                box.bottom + 4.2,
                word,
                size=SMALL,
                colour=FADED,
                align="center",
            )


def _hours_seen(axes: Axes, rows: Sequence[Row], box: Box) -> None:
    put(axes, box.left, box.top - 1.6, "hours seen", size=SMALL, colour=FADED)
    columns = [
        Column(n + 0.15, n + 0.85, (Part("seen", LEVEL, row.hours or 0),)) for n, row in enumerate(rows)
    ]
    _columns(axes, columns, box, len(rows), ticks=2)


def _columns(axes: Axes, columns: Sequence[Column], box: Box, width: float, ticks: int = 5) -> None:
    """Stacked columns over a base line, with numbers at the left."""
    most = max((column.height for column in columns), default=0) or 1
    across, up = box.width / width, (box.height - 1) / most
    marks = count_ticks(most)
    for mark in marks if len(marks) <= ticks else (marks[0], marks[-1]):
        y = box.bottom - mark * up
        line(axes, (box.left, y), (box.right, y))
        put(axes, box.left - 1, y + 1, str(mark), size=SMALL, colour=FADED, align="right")
    for column in columns:
        base = box.bottom
        for part in (part for part in column.parts if part.count):
            left, high = box.left + column.left * across, part.count * up
            fill(axes, Box(left, base - high, (column.right - column.left) * across, high), part.look)
            base -= high
    line(axes, (box.left, box.bottom), (box.right, box.bottom), color=INK, lw=0.9, zorder=4)


def bar_charts(bars: Sequence[Bar], name: str) -> list[Markup]:
    """Horizontal bars, one under the other; many are told in several charts. `name`: of the drawing."""
    most = max((sum(part.count for part in bar.parts) for bar in bars), default=0) or 1
    groups = [bars[n : n + _ROWS_A_CHART] for n in range(0, len(bars), _ROWS_A_CHART)]
    return [_bar_chart(group, most, f"{name}{n}") for n, group in enumerate(groups)]


def _bar_chart(bars: Sequence[Bar], most: float, name: str) -> Markup:
    met = dict.fromkeys((part.word, part.look) for bar in bars for part in bar.parts if part.count)
    entries = [each for each in ((part.word, part.look) for part in bars[0].parts) if each in met]
    top = key_height([word for word, _ in entries])
    figure, axes = paper(WIDTH_MM, top + _BAR_ROW_MM * len(bars) + 1)
    key(axes, entries)
    for n, bar in enumerate(bars):
        _bar(axes, bar, top + n * _BAR_ROW_MM, most)
    return inline_svg(figure, name)


def _bar(axes: Axes, bar: Bar, top: float, most: float) -> None:
    room = WIDTH_MM - 2 - width_of(bar.note, size=SMALL) - 3
    put(axes, 1, top + 4, cut(bar.name, room, size=TEXT, bold=True), size=TEXT, bold=True, colour=INK)
    put(axes, WIDTH_MM - 1, top + 4, bar.note, size=SMALL, colour=FADED, align="right")
    left = 1.0
    for part in (part for part in bar.parts if part.count):
        width = part.count * (WIDTH_MM - 2) / most
        fill(axes, Box(left, top + 5.2, width, 4), part.look)
        left += width
    if left == 1.0:
        line(axes, (1, top + 5.2), (1, top + 9.2), color=INK, lw=0.9)
