"""Labels for boxes as PDF, in several sizes: what lies in them, since when, until when, which side is up.

The QR code carries the label's own text, so that a telephone shows it without any network. Where a desk
runs that phones of the house can reach, it may carry the desk's address with that text, and opens the box
there.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, get_args
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

import numpy as np
import segno
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure
from matplotlib.patches import Polygon
from numpy.typing import NDArray

from nestwatch.errors import EntryError
from nestwatch.report.marking.setting import Box, leading, paper, picture, put, text_width, wrapped
from nestwatch.season.incubation.expected import Expected

Size = Literal["small", "medium", "large"]
SIZES: dict[Size, tuple[float, float]] = {
    "small": (62.0, 29.0),
    "medium": (90.0, 50.0),
    "large": (148.0, 105.0),
}
"""Width and height in millimetres, one label a page: two rolls of label printers, and A6."""
NAMES: tuple[Size, ...] = get_args(Size)
UP = "THIS SIDE UP"
NEVER = "never turn the eggs"
MODULE_MM = 0.4
"""A telephone reads squares of this size (common practice, no source); codes are never drawn smaller."""
_TEXT: dict[Size, tuple[float, float]] = {"small": (9, 5.2), "medium": (15, 7.5), "large": (30, 12)}
_MARGIN: dict[Size, float] = {"small": 1.5, "medium": 3.0, "large": 6.0}


ON_THE_DESK = "eggs/label"
"""Below the desk's own address: where a label's code leads."""


@dataclass(frozen=True, slots=True)
class Label:
    """One box: its label in large letters and the lines under it."""

    box: str
    lines: tuple[str, ...]

    @property
    def text(self) -> str:
        """All of it, as the QR code carries it."""
        return "\n".join([f"Box {self.box}", *self.lines, f"{UP}, {NEVER}"])

    def code(self, desk: str | None) -> str:
        """What the QR code carries: the text, or the address of a `desk` (`http://host:port/`) with it."""
        if desk is None:
            return self.text
        told = urlencode({"box": self.box, "text": self.text}, safe="(),:")
        return f"{desk.rstrip('/')}/{ON_THE_DESK}?{told}"


def labels_of(expected: Sequence[Expected], zone: ZoneInfo) -> tuple[Label, ...]:
    """One label a box, with a few lines for each clutch in it."""
    boxes = dict.fromkeys(each.container.label for each in expected)
    return tuple(
        Label(
            box,
            tuple(line for each in expected if each.container.label == box for line in _lines(each, zone)),
        )
        for box in boxes
    )


def printed_labels(labels: Sequence[Label], size: Size, desk: str | None = None) -> bytes:
    """A PDF with one page a label; the same labels give the same bytes. `desk`: as for `Label.code`.

    Raises `EntryError` where a label's text is too long for a QR code of this size.
    """
    out = io.BytesIO()
    # Type 42 keeps text as text, which can be searched and read back; a date would change every time.
    with rc_context({"pdf.fonttype": 42}), PdfPages(out, metadata={"CreationDate": None}) as pdf:
        for label in labels:
            pdf.savefig(_page(label, size, label.code(desk)))
    return out.getvalue()


def qr(text: str) -> NDArray[np.uint8]:
    """The QR code of a text with its quiet zone of four squares: 0 dark, 255 light, a pixel a square."""
    rows = segno.make(text, error="l", micro=False, boost_error=True).matrix_iter(scale=1, border=4)
    return np.array([[0 if dark else 255 for dark in row] for row in rows], dtype=np.uint8)


def _lines(each: Expected, zone: ZoneInfo) -> Iterator[str]:
    latin = f" ({each.profile.latin})" if each.profile.latin else ""
    left = f"{len(each.eggs)} egg{'' if len(each.eggs) == 1 else 's'}"
    yield f"{each.profile.name}{latin}"
    yield f"Clutch {each.of}" + (f" of {each.clutch.female}" if each.clutch.female else "")
    yield f"Laid {each.clutch.laid_at.astimezone(zone):%Y-%m-%d}, {left}"
    yield f"Hatch {each.window.words()}" if each.window else "Hatch window not known"


def _page(label: Label, size: Size, carried: str) -> Figure:
    width, height = SIZES[size]
    figure, axes = paper(width, height)
    margin = _MARGIN[size]
    room = Box(margin, margin, width - 2 * margin, height - 2 * margin)
    code = qr(carried)
    side = max(min(room.height * 0.72, room.width * 0.4), MODULE_MM * len(code))
    if side > room.height or side > room.width * 0.5:
        raise EntryError(
            f"the label of box {label.box} is too long for the size {size}: take a larger one, or give each "
            "clutch a box of its own."
        )
    picture(axes, Box(room.right - side, room.bottom - side, side, side), code)
    _heading(axes, room, label, size)
    _body(axes, Box(room.left, room.top, room.width - side - 1, room.height), label, size)
    return figure


def _heading(axes: Axes, room: Box, label: Label, size: Size) -> None:
    """The box's label at the left, the arrow and what it means at the right."""
    large, small = _TEXT[size]
    up = text_width(UP, size=small, bold=True)
    space = room.width - up - large * 0.4 - 2
    while large > small and text_width(label.box, size=large, bold=True) > space:
        large *= 0.9
    high = leading(_TEXT[size][0])
    put(axes, room.left, room.top + high * 0.75, label.box, size=large, bold=True)
    put(axes, room.right, room.top + high * 0.6, UP, size=small, bold=True, align="right")
    _arrow(axes, room.right - up - 1.5, room.top, high * 0.7)


def _arrow(axes: Axes, right: float, top: float, high: float) -> None:
    """An arrow that points up, `high` mm, its right edge at `right`."""
    wide = high * 0.7
    left, middle = right - wide, right - wide / 2
    points = [
        (middle, top),
        (right, top + high * 0.5),
        (middle + wide * 0.2, top + high * 0.5),
        (middle + wide * 0.2, top + high),
        (middle - wide * 0.2, top + high),
        (middle - wide * 0.2, top + high * 0.5),
        (left, top + high * 0.5),
    ]
    axes.add_patch(Polygon(points, closed=True, facecolor="#111111", lw=0))


def _body(axes: Axes, room: Box, label: Label, size: Size) -> None:
    """The lines beside the code, as large as they all fit."""
    top = room.top + leading(_TEXT[size][0])
    lines = [*label.lines, NEVER]
    points = _TEXT[size][1]
    while points > 3 and _height(lines, room.width, points) > room.bottom - top:
        points *= 0.95
    y = top
    for line in lines:
        for part in wrapped(line, room.width, size=points):
            y += leading(points)
            put(axes, room.left, y - 0.1 * points, part, size=points, bold=line.startswith("Hatch"))


def _height(lines: Sequence[str], width: float, points: float) -> float:
    return leading(points) * sum(len(wrapped(line, width, size=points)) for line in lines)
