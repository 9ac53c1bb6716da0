"""Setting text and pictures on paper, in millimetres from the top left corner. No pyplot: no global state."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.patheffects import withStroke
from matplotlib.textpath import text_to_path
from numpy.typing import NDArray

MM_PER_INCH = 25.4
_MM_PER_POINT = MM_PER_INCH / 72
_LEADING = 1.32
_FAMILY = "DejaVu Sans"  # comes with matplotlib, so that a sheet looks alike on every computer
_MISSING = "?"

Align = Literal["left", "center", "right"]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle of the paper, millimetres, y downwards."""

    left: float
    top: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """Its lower edge."""
        return self.top + self.height


def paper(width: float, height: float) -> tuple[Figure, Axes]:
    """An empty sheet of paper whose axes count millimetres from the top left corner."""
    figure = Figure(figsize=(width / MM_PER_INCH, height / MM_PER_INCH))
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.set_xlim(0, width)
    axes.set_ylim(height, 0)
    return figure, axes


def put(
    axes: Axes,
    x: float,
    y: float,
    text: str,
    *,
    size: float,
    bold: bool = False,
    colour: str = "#111111",
    align: Align = "left",
    halo: bool = False,
) -> None:
    """One line of text with its base line at y. `size` in points."""
    written = axes.text(
        x,
        y,
        printable(text),
        fontproperties=_font(size, bold),
        color=colour,
        ha=align,
        va="baseline",
        parse_math=False,  # a name may hold a dollar sign
        zorder=9,
    )
    if halo:
        written.set_path_effects([withStroke(linewidth=2.2, foreground="white")])


def paragraph(
    axes: Axes, box: Box, text: str, *, size: float, bold: bool = False, colour: str = "#111111"
) -> float:
    """Text from the top of the box, as wide as the box; returns the y below its last line."""
    y = box.top
    for line in wrapped(text, box.width, size=size, bold=bold):
        y += leading(size)
        put(axes, box.left, y - 0.3 * size * _MM_PER_POINT, line, size=size, bold=bold, colour=colour)
    return y


def leading(size: float) -> float:
    """Millimetres from one line to the next."""
    return size * _MM_PER_POINT * _LEADING


def wrapped(text: str, width: float, *, size: float, bold: bool = False) -> list[str]:
    """Lines of at most `width` mm; a single word that is longer is broken."""
    lines: list[str] = []
    for word in printable(text).split():
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(joined, size=size, bold=bold) <= width:
            lines[-1] = joined
        else:
            lines += _broken(word, width, size, bold)
    return lines


def _broken(word: str, width: float, size: float, bold: bool) -> list[str]:
    parts = [""]
    for letter in word:
        if parts[-1] and text_width(parts[-1] + letter, size=size, bold=bold) > width:
            parts.append("")
        parts[-1] += letter
    return parts


def text_width(text: str, *, size: float, bold: bool = False) -> float:
    """Millimetres."""
    points, _, _ = text_to_path.get_text_width_height_descent(text, _font(size, bold), ismath=False)
    return float(points) * _MM_PER_POINT


def printable(text: str) -> str:
    """The text with letters that the font cannot draw replaced, so that none silently disappears."""
    return "".join(letter if ord(letter) in _letters() else _MISSING for letter in text)


def picture(axes: Axes, box: Box, image: NDArray[np.uint8]) -> Box:
    """A picture, as large as fits at the box's top left; returns the place it takes."""
    rows, columns = image.shape[:2]
    width = min(box.width, box.height * columns / rows)
    place = Box(box.left, box.top, width, width * rows / columns)
    limits = axes.get_xlim(), axes.get_ylim()
    axes.imshow(
        image,
        extent=(place.left, place.right, place.bottom, place.top),
        aspect="auto",
        interpolation="none",
        zorder=2,
        cmap="gray",
    )
    axes.set_xlim(*limits[0])
    axes.set_ylim(*limits[1])
    return place


@cache
def _font(size: float, bold: bool) -> FontProperties:
    return FontProperties(family=_FAMILY, size=size, weight="bold" if bold else "normal")


@cache
def _letters() -> frozenset[int]:
    return frozenset(get_font(findfont(_font(10, False))).get_charmap())
