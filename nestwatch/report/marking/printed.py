"""The printed sheets: one page a dig, all that a keeper needs there, and a bar that proves the scale."""

from __future__ import annotations

import io
from collections.abc import Sequence

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from numpy.typing import NDArray
from PIL import Image

from nestwatch.report.marking.close_up import LEAST_MM, draw_close_up
from nestwatch.report.marking.pen_drawing import INK, QUIET, SPOT, draw_pen
from nestwatch.report.marking.records import PAPERS, Paper, Picture, Sheet
from nestwatch.report.marking.setting import (
    Box,
    leading,
    paper,
    paragraph,
    picture,
    put,
    text_width,
    wrapped,
)
from nestwatch.report.marking.steps import CAUTIONS, steps
from nestwatch.site.records import Units

BAR_MM = 100.0
_MARGIN = 12.0
_GAP = 4.0
_PHOTOS_MM = 78.0
_LOWER_MM = 112.0  # what to do and what was found
_FOOT_MM = 13.0


def printed(sheets: Sequence[Sheet], size: Paper, units: Units, *, head: str, version: str) -> bytes:
    """A PDF with one page a sheet; the same sheets give the same bytes. `head`: site and night."""
    out = io.BytesIO()
    # Type 42 keeps text as text, which can be searched and read back; a date would change every time.
    with (
        rc_context({"pdf.fonttype": 42}),
        PdfPages(out, metadata={"CreationDate": None, "Title": head}) as pdf,
    ):
        for number, sheet in enumerate(sheets, start=1):
            foot = f"{head} · sheet {number} of {len(sheets)} · nestwatch {version}"
            pdf.savefig(_page(sheet, size, units, head=head, foot=foot))
    return out.getvalue()


def _page(sheet: Sheet, size: Paper, units: Units, *, head: str, foot: str) -> Figure:
    width, height = PAPERS[size]
    figure, axes = paper(width, height)
    room = Box(_MARGIN, _MARGIN - 4, width - 2 * _MARGIN, height - 2 * _MARGIN + 4)
    top = _head(axes, room, sheet, head)
    top = _where(axes, Box(room.left, top, room.width, 0), sheet)
    lower = room.bottom - _FOOT_MM - _LOWER_MM
    middle = Box(room.left, top + 2, room.width, lower - top - 4)
    _plan_and_photos(axes, middle, sheet, units)
    _lower(axes, Box(room.left, lower, room.width, _LOWER_MM), sheet, units)
    _foot(axes, Box(room.left, room.bottom - _FOOT_MM, room.width, _FOOT_MM), foot)
    return figure


def _head(axes: Axes, box: Box, sheet: Sheet, head: str) -> float:
    put(axes, box.left, box.top + 5.5, f"{sheet.rank}", size=22, bold=True)
    left = box.left + text_width(f"{sheet.rank}", size=22, bold=True) + 3
    put(axes, left, box.top + 2.6, f"{sheet.title} · {sheet.sure}", size=12, bold=True)
    put(axes, left, box.top + 7.2, " · ".join(sheet.facts), size=8.5)
    lines = wrapped(head, box.width * 0.45, size=7)
    for number, line in enumerate(lines[:2]):
        put(axes, box.right, box.top + 2.2 + 3.2 * number, line, size=7, colour=QUIET, align="right")
    axes.plot([box.left, box.right], [box.top + 9.2] * 2, color=INK, lw=1.2)
    return box.top + 10.5


def _where(axes: Axes, box: Box, sheet: Sheet) -> float:
    """The two tape distances, as large as can be read at arm's length in the rain."""
    if sheet.where is None:
        return paragraph(axes, box, sheet.no_distance, size=14, bold=True)
    y = box.top
    for number, line in enumerate(sheet.tape):
        x = box.left + number * box.width / 2
        put(axes, x, y + 8.5, line.length, size=24, bold=True)
        after = x + text_width(line.length, size=24, bold=True) + 2
        room = box.left + (number + 1) * box.width / 2 - after - 2
        _fitted(axes, after, y + 8.5, line.how, room)
    y += 11 if sheet.tape else 1
    for text, bold in ((sheet.side, True), (sheet.wall, False), (sheet.near, True)):
        y = paragraph(axes, Box(box.left, y, box.width, 0), text, size=10, bold=bold) if text else y
    return y


def _fitted(axes: Axes, x: float, y: float, text: str, room: float) -> None:
    """One line, smaller where the name of a post is long."""
    size = next((s for s in (14.0, 12.0, 10.0, 8.0) if text_width(text, size=s, bold=True) <= room), 6.5)
    put(axes, x, y, text, size=size, bold=True)


def _plan_and_photos(axes: Axes, box: Box, sheet: Sheet, units: Units) -> None:
    overview, *crops = sheet.pictures
    if sheet.where is None:
        _photos_alone(axes, box, overview, crops)
        return
    plan = Box(box.left, box.top, box.width - _PHOTOS_MM - _GAP, box.height)
    below = draw_pen(axes, sheet.where, plan, units) + 2
    if plan.bottom - below >= LEAST_MM:
        room = Box(plan.left, below, plan.width, plan.bottom - below)
        draw_close_up(axes, sheet.where, room, units)
    _photos(axes, Box(box.right - _PHOTOS_MM, box.top, _PHOTOS_MM, box.height), overview, crops)


def _photos(axes: Axes, box: Box, overview: Picture, crops: Sequence[Picture]) -> None:
    """The whole view, and both crops side by side under it."""
    below = _photo(axes, Box(box.left, box.top, box.width, box.height * 0.5), overview)
    each = (box.width - _GAP) / 2
    for number, crop in enumerate(crops):
        left = box.left + number * (each + _GAP)
        _photo(axes, Box(left, below + 1, each, box.bottom - below - 1), crop)


def _photos_alone(axes: Axes, box: Box, overview: Picture, crops: Sequence[Picture]) -> None:
    """Pictures that have to do without a plan: the whole view as large as it goes, the crops beside it."""
    high = box.height / 2
    beside = high + 10
    _photo(axes, Box(box.left, box.top, box.width - beside - _GAP, box.height), overview)
    for number, crop in enumerate(crops):
        _photo(axes, Box(box.right - beside, box.top + number * high, beside, high), crop)


def _photo(axes: Axes, box: Box, shown: Picture) -> float:
    """A photograph with its title under it; returns the y below it."""
    titled = wrapped(shown.title, box.width, size=7.5)
    room = Box(box.left, box.top, box.width, max(box.height - leading(7.5) * len(titled), 5))
    image = decoded(shown.jpeg)
    if image is None:
        axes.add_patch(_frame(room))
        why = shown.why if shown.jpeg is None else "this picture is damaged; watch the night again"
        paragraph(axes, Box(room.left + 2, room.top + 2, room.width - 4, 0), why, size=7.5, colour=QUIET)
        taken = room
    else:
        taken = picture(axes, room, image)
    return paragraph(axes, Box(box.left, taken.bottom, box.width, 0), shown.title, size=7.5, colour=QUIET)


def decoded(jpeg: bytes | None) -> NDArray[np.uint8] | None:
    """Rows of RGB, None where there is no picture or it is damaged."""
    if jpeg is None:
        return None
    try:
        return np.asarray(Image.open(io.BytesIO(jpeg)).convert("RGB"))
    except (OSError, ValueError, SyntaxError):
        return None


def _frame(box: Box) -> Rectangle:
    return Rectangle((box.left, box.top), box.width, box.height, facecolor="none", edgecolor=QUIET, lw=0.6)


def _lower(axes: Axes, box: Box, sheet: Sheet, units: Units) -> None:
    axes.plot([box.left, box.right], [box.top] * 2, color=INK, lw=0.8)
    column = box.width * 0.56
    left = Box(box.left, box.top + 1, column, box.height)
    y = _laid(axes, left, sheet)
    _steps(axes, Box(left.left, y + 1.5, column, 0), sheet, units)
    right = Box(box.left + column + _GAP, box.top + 1, box.width - column - _GAP, box.height - 2)
    _found(axes, right, units, [line.how for line in sheet.tape])


def _laid(axes: Axes, box: Box, sheet: Sheet) -> float:
    laid, lift, sure = sheet.laid
    y = paragraph(axes, box, laid, size=9.5, bold=True)
    for number, (clock, hours) in enumerate(sheet.hours):
        x = box.left + number * box.width / 4
        put(axes, x, y + 3.4, f"at {clock}", size=7.5, colour=QUIET)
        put(axes, x, y + 7.2, hours, size=8.5, bold=True)
    y += 8.2 if sheet.hours else 0
    y = paragraph(axes, Box(box.left, y, box.width, 0), lift, size=8.5)
    return paragraph(axes, Box(box.left, y, box.width, 0), sure, size=6, colour=QUIET)


def _steps(axes: Axes, box: Box, sheet: Sheet, units: Units) -> float:
    y = box.top
    for number, step in enumerate(steps(units, measured=sheet.where is not None), start=1):
        axes.add_patch(_frame(Box(box.left, y + 0.8, 3, 3)))
        heading = f"{number}. {step.do}:"
        put(axes, box.left + 5, y + 3.5, heading, size=9, bold=True)
        begin = box.left + 5 + text_width(f"{heading} ", size=9, bold=True)
        y = _run_on(axes, Box(box.left + 5, y, box.width - 5, 0), step.how, begin) + 0.7
    return paragraph(axes, Box(box.left, y + 1, box.width, 0), CAUTIONS, size=6, colour=QUIET)


def _run_on(axes: Axes, box: Box, text: str, begin: float) -> float:
    """A paragraph whose first line begins behind a heading on the same line; returns the y below it."""
    size, words, first = 8.0, text.split(), ""
    while words and begin + text_width(f"{first} {words[0]}", size=size) <= box.right:
        first = f"{first} {words.pop(0)}".strip()
    put(axes, begin, box.top + 3.5, first, size=size)
    rest = Box(box.left, box.top + leading(9), box.width, 0)
    return paragraph(axes, rest, " ".join(words), size=size) if words else rest.top


def _found(axes: Axes, box: Box, units: Units, posts: Sequence[str]) -> None:
    """Lines to write on; `posts`: "from" and the name of each that was taped from."""
    axes.add_patch(_frame(Box(box.left, box.top + 1, box.width, box.height - 1)))
    unit = "cm" if units == "metric" else "in"
    put(axes, box.left + 2, box.top + 6, "Found", size=11, bold=True)
    y = box.top + 12
    for text in ("eggs, how many", "empty", "not dug up"):
        axes.add_patch(_frame(Box(box.left + 2, y - 3, 3.4, 3.4)))
        put(axes, box.left + 7.5, y, text, size=9)
        y += 6.5
    blanks = [f"top egg down ({unit})", "bottom down", "time", "box", "by", "off the stake by"]
    for text in (*blanks, *(f"eggs {post}" for post in posts)):
        _blank(axes, Box(box.left + 2, y, box.width - 4, 0), text)
        y += 7
    while y < box.bottom - 2:
        axes.plot([box.left + 2, box.right - 2], [y + 0.8] * 2, color=QUIET, lw=0.4)
        y += 7


def _blank(axes: Axes, box: Box, text: str) -> None:
    shown, *_ = wrapped(text, box.width * 0.65, size=8)
    put(axes, box.left, box.top, shown, size=8)
    start = box.left + text_width(shown, size=8) + 2
    axes.plot([start, box.right], [box.top + 0.8] * 2, color=QUIET, lw=0.4)


def _foot(axes: Axes, box: Box, foot: str) -> None:
    """The bar that proves the printer's scale."""
    y = box.top + 6
    axes.plot([box.left, box.left + BAR_MM], [y, y], color=INK, lw=1.6, solid_capstyle="butt", gid="bar")
    for tick in range(0, 101, 10):
        high = 2.2 if tick % 50 == 0 else 1.2
        axes.plot([box.left + tick] * 2, [y, y - high], color=INK, lw=0.6, solid_capstyle="butt")
    words = "This bar is 100 mm (3 15/16 in). If yours is not, print at 100 %: else the plan is not to scale."
    room = Box(box.left + BAR_MM + 4, box.top + 1, box.width - BAR_MM - 4, 0)
    paragraph(axes, room, words, size=7.5, bold=True, colour=SPOT)
    put(axes, box.left, box.bottom - 0.5, foot, size=6.5, colour=QUIET)
