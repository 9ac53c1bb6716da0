"""What was drawn on one camera's picture, as it goes into the site file."""

from __future__ import annotations

from dataclasses import dataclass

from nestwatch.site.records import Mark, Point, ZoneKind


@dataclass(frozen=True, slots=True)
class DrawnZone:
    """A zone as drawn. `was`: the name it has in the file, None for a new one; `outline` in pixels."""

    name: str
    kind: ZoneKind
    outline: tuple[Point, ...]
    was: str | None = None


@dataclass(frozen=True, slots=True)
class Drawing:
    """All zones and marks of one camera."""

    zones: tuple[DrawnZone, ...]
    marks: tuple[Mark, ...]
