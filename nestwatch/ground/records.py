"""What ground hands on: a night reduced to half-minute summaries, and the changes found in them.

Array axes are (bin, row, column). Places inside arrays are (row, column) of the *skim picture* (the
area-reduced frame); `Grid` converts them to the `(x, y)` pixels outlines were drawn on. Times in
arrays are float64 POSIX seconds (UTC).
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]
Times = NDArray[np.float64]
CELL = 4
"""Side of an energy cell in skim pixels."""


@dataclass(frozen=True, slots=True)
class Grid:
    """How the analysed window lies in the picture.

    `top`, `left`: (row, column) of the window's first pixel in the skim picture. `rows`, `columns`: size
    of the window, multiples of `CELL`. `to_picture`: picture pixels per skim pixel, (x, y). `shell_px`:
    expected shell length in skim pixels (a guess where no marks tie the picture to the pen), in the middle of
    the zones; `shell_ends`: the same at the window's first and last row, None where the picture is not tied
    to the pen. A camera looks down at a slant, so an animal near it is seen larger.
    """

    top: int
    left: int
    rows: int
    columns: int
    to_picture: tuple[float, float]
    shell_px: float
    shell_ends: tuple[float, float] | None = None

    def shell_at(self, row: float) -> float:
        """Expected shell length in skim pixels at a row of the window.

        Apparent size on a plane grows in a straight line from the horizon down (Hartley & Zisserman 2004,
        Multiple View Geometry, ch. 8).
        """
        if self.shell_ends is None:
            return self.shell_px
        share = min(1.0, max(0.0, row / max(1, self.rows - 1)))
        return self.shell_ends[0] + share * (self.shell_ends[1] - self.shell_ends[0])

    def at(self, row: float) -> Grid:
        """The same window with the shell length of `row`."""
        return replace(self, shell_px=self.shell_at(row))

    def picture_point(self, row: float, column: float) -> tuple[float, float]:
        """The `(x, y)` picture pixel of a place in the window (pixel centres at +0.5)."""
        x = (self.left + column + 0.5) * self.to_picture[0]
        y = (self.top + row + 0.5) * self.to_picture[1]
        return (float(x), float(y))

    def window_point(self, x: float, y: float) -> tuple[float, float]:
        """The (row, column) in the window of a picture pixel `(x, y)`; may lie outside it."""
        return (y / self.to_picture[1] - self.top - 0.5, x / self.to_picture[0] - self.left - 0.5)


@dataclass(frozen=True, slots=True)
class Bins:
    """A camera's night in steps of `step_s` seconds; steps without a frame are left out (n bins).

    `times`: (n,) start of each bin. `shown_s`: (n,) seconds of the night its frames speak for.
    `frames`: (n,) frames in it. `median`: uint8 (n, rows, columns), registered to the first reference.
    `energy`: float32 (n, rows/CELL, columns/CELL), mean squared difference of successive frames in
    levels², NaN where a bin had no pair of frames. `chroma`, `level`: (n,) mean distance of colour from
    grey and mean luma. `spell`: (n,) number of the light spell. `shift`: (n, 3) how the camera had moved:
    right, down in skim pixels and turn in degrees; NaN where it could not be told. `likeness`: (n,)
    correlation of the bin with its spell's reference after registration, NaN as above. `glare`: bool, shape
    of `energy`, cells hidden by something bright before the lens and filled in; None where there was none.
    """

    grid: Grid
    step_s: float
    times: Times
    shown_s: Floats
    frames: NDArray[np.int16]
    median: NDArray[np.uint8]
    energy: Floats
    chroma: Floats
    level: Floats
    spell: NDArray[np.int16]
    shift: Floats
    likeness: Floats
    glare: NDArray[np.bool_] | None = None

    def only(self, kept: NDArray[np.bool_]) -> Bins:
        """The bins where `kept` (n,) is True; the same object where all are. What is left out counts as not
        recorded."""
        if kept.all():
            return self
        rows = {f.name: getattr(self, f.name) for f in fields(self) if f.name not in ("grid", "step_s")}
        return replace(self, **{name: row[kept] for name, row in rows.items() if row is not None})

    def in_light(self, low: int, high: int, spell: int) -> NDArray[np.int64]:
        """Numbers of the bins of one light `spell` among [low, high), cut at the night's ends."""
        index = np.arange(max(0, low), min(high, len(self.times)))
        return np.asarray(index[self.spell[index] == spell])

    def at(self, row: float) -> Bins:
        """The same bins (not copied) with the shell length expected at a row of the window."""
        return replace(self, grid=self.grid.at(row))


@dataclass(frozen=True, slots=True)
class Box:
    """One tile that looked different for a while: rows of `Epochs` [first, last), and by how much.

    `row`, `column`: tile centre in the window. `before`, `after`: how much more the inside differs from
    the ground before and after than that ground from itself (0..1, NaN where there is no such side).
    `ground`: the same for before against after (NaN when one side is missing). `score` ranks boxes.
    `part`: the best shorter box that begins or ends with it: an animal that lay there for a part of the time
    in which a web did. `lit`: the ground's grain shows in it as before and after, as under a shadow.
    """

    row: float
    column: float
    first: int
    last: int
    before: float
    after: float
    ground: float
    score: float
    part: Box | None = None
    lit: bool = False


@dataclass(frozen=True, slots=True)
class Blob:
    """A patch that changed between two successive skim frames.

    `at`: POSIX seconds of the later frame. `row`, `column`: centre in the skim picture (not the window).
    `area`: skim pixels². `height`, `width`: of its bounding box, skim pixels. `change`: mean absolute
    difference in levels.
    """

    at: float
    row: float
    column: float
    area: float
    height: float
    width: float
    change: float
