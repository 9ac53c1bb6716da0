"""What the season's charts are drawn with, in millimetres of paper as the marking sheet is.

Kinds differ by pattern, never by colour alone. A chart is as wide as a phone held upright, and letters are
large enough for that.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from nestwatch.report import palette
from nestwatch.report.marking.setting import Box, printable, put, text_width, wrapped
from nestwatch.season.tally.page.days import short_day

WIDTH_MM = 96.0
INK, FADED, RULE = (palette.LIGHT[name] for name in ("ink", "faded", "rule"))
SHEET, BAR, LOUD, LOUD_INK = (palette.LIGHT[name] for name in ("sheet", "bar", "loud", "loud-ink"))
TEXT, SMALL = 8.0, 7.5  # points
_LINE_MM = 4.4
_SWATCH_MM = 5.0


@dataclass(frozen=True, slots=True)
class Look:
    """How an area is filled: its ground, and lines of `line` colour in matplotlib's hatch letters."""

    ground: str
    hatch: str = ""
    line: str = INK
    edge: str = INK


SOLID = Look(BAR)
STRIPED = Look(SHEET, "/////", BAR)
HOLLOW = Look(SHEET)
UPRIGHT = Look(SHEET, "|||||", BAR)
CROSSED = Look(SHEET, "xxxx", BAR)
LEVEL = Look(SHEET, "-----", BAR)
UNSEEN = Look(LOUD, "\\\\\\\\", LOUD_INK, edge="none")


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a stack: `count` of what `word` says."""

    word: str
    look: Look
    count: float


def fill(axes: Axes, box: Box, look: Look, *, zorder: float = 3) -> None:
    """One filled rectangle."""
    axes.add_artist(
        Rectangle(
            (box.left, box.top),
            box.width,
            box.height,
            facecolor=look.ground,
            edgecolor=look.edge,
            hatch=look.hatch,
            hatchcolor=look.line,
            linewidth=0.7,
            zorder=zorder,
            clip_on=False,
        )
    )


def line(axes: Axes, start: tuple[float, float], end: tuple[float, float], **how: object) -> None:
    """A straight line; thin and pale unless `how` says otherwise."""
    look: dict[str, object] = {"color": RULE, "lw": 0.6, "zorder": 1, "clip_on": False, **how}
    axes.plot([start[0], end[0]], [start[1], end[1]], **look)  # type: ignore[arg-type]


def width_of(text: str, *, size: float, bold: bool = False) -> float:
    """Millimetres of a text as it is written, letters that the font has not replaced."""
    return text_width(printable(text), size=size, bold=bold)


def write(axes: Axes, x: float, y: float, text: str, *, size: float = SMALL, **how: Any) -> None:
    """Text that nothing below shows through: on a ground of its own, which costs less than letters twice."""
    width, align = (
        width_of(text, size=size, bold=how.get("bold", False)),
        how.get("align", "left"),
    )
    left = x - {"left": 0.0, "center": width / 2, "right": width}[align]
    box = Box(left - 0.4, y - 0.31 * size, width + 0.8, 0.39 * size)
    fill(axes, box, Look(SHEET, edge="none"), zorder=8)
    put(axes, x, y, text, size=size, **how)


def key_height(words: Sequence[str]) -> float:
    """Millimetres that `key` takes for these words."""
    return _LINE_MM * len(list(_key_lines(words))) + 1.5


def key(axes: Axes, entries: Sequence[tuple[str, Look]], top: float = 0.0) -> None:
    """What the patterns mean, in as many lines as they need."""
    looks = dict(entries)
    for number, words in enumerate(_key_lines([word for word, _ in entries])):
        left, y = 1.0, top + number * _LINE_MM
        for word in words:
            fill(axes, Box(left, y + 0.8, _SWATCH_MM, 2.8), looks[word])
            put(axes, left + _SWATCH_MM + 1.3, y + 3.4, word, size=TEXT, colour=INK)
            left += _entry_width(word)


def _key_lines(words: Sequence[str]) -> Iterator[list[str]]:
    row: list[str] = []
    for word in words:
        if row and sum(map(_entry_width, [*row, word])) > WIDTH_MM:
            yield row
            row = []
        row.append(word)
    if row:
        yield row


def _entry_width(word: str) -> float:
    return _SWATCH_MM + 1.3 + width_of(word, size=TEXT) + 4.0


def cut(text: str, width: float, *, size: float, bold: bool = False) -> str:
    """The text, shortened with an ellipsis where it is wider than `width` mm."""
    text = printable(text)
    if width_of(text, size=size, bold=bold) <= width:
        return text
    return wrapped(text, width - width_of("…", size=size, bold=bold), size=size, bold=bold)[0] + "…"


def date_ticks(first: date, last: date, most: int = 5) -> Iterator[date]:
    """Mondays from the first day to the last, evenly spaced, at most so many."""
    monday = first + timedelta(days=-first.weekday() % 7)
    weeks = (last - monday).days // 7
    step = max(weeks, 0) // most + 1
    return (monday + timedelta(weeks=n) for n in range(0, weeks + 1, step))


def day_axis(axes: Axes, days: Iterable[tuple[date, float]], box: Box) -> None:
    """Dates under a chart, with lines up through it. `days`: each with its x."""
    for day, x in days:
        line(axes, (x, box.top), (x, box.bottom + 1.2), lw=0.4, ls=(0, (2, 3)))
        width = width_of(short_day(day), size=SMALL)
        left = min(max(x - width / 2, 0.0), WIDTH_MM - width)
        put(axes, left, box.bottom + 4.6, short_day(day), size=SMALL, colour=FADED)


def count_ticks(most: float) -> Sequence[int]:
    """Whole numbers for an axis from 0 to `most`, few enough to be read."""
    steps = (step * 10**power for power in range(7) for step in (1, 2, 5))
    step = next(each for each in steps if most / each <= 4)
    return range(0, int(most) + 1, step)
