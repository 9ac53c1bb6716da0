"""What the keys of a site file must mean together: names, outlines, marks, hours. Form is `schema`'s."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

import numpy as np
import shapely

from nestwatch.site.hours import nesting_walls, night_walls
from nestwatch.site.lens import lens_of
from nestwatch.site.marks import FEWEST_MARKS, marks_doubt, marks_trouble, paired
from nestwatch.site.measured import is_placed, measuring_mistakes, open_mistakes
from nestwatch.site.mistakes import Mistake
from nestwatch.site.names import did_you_mean
from nestwatch.site.pens import pen_notes, pen_of, post_covariance
from nestwatch.site.places import Path
from nestwatch.site.plan import fit_plan, plan_map
from nestwatch.site.records import Camera, Mark, Point, Site
from nestwatch.site.schema import CameraPart, PenPart, SiteFile, SitePart
from nestwatch.site.zone_doubts import zone_doubts

_EDGE = 1.0  # pixels an outline may reach over the picture's edge: drawing tools round
_SMALLEST_PX = 64.0
_SMALLEST_SHARE = 0.0005  # of the picture
_SMALLEST_PEN_M2 = 0.01


def find_mistakes(file: SiteFile) -> list[Mistake]:
    """Every mistake of meaning, in the order of the file."""
    return [
        *_hours(file),
        *_unique([pen.name for pen in file.pen], ("pen",)),
        *(mistake for number, pen in enumerate(file.pen) for mistake in _pen(pen, ("pen", number))),
        *_unique([camera.name for camera in file.camera], ("camera",)),
        *(
            mistake
            for number, camera in enumerate(file.camera)
            for mistake in _camera(file, camera, ("camera", number))
        ),
        *_cameras(file),
    ]


def site_notes(site: Site) -> tuple[str, ...]:
    """Sentences on what is allowed but costs something: too few marks, no nesting zone, doubtful lengths."""
    return (
        *(note for pen in site.pens for note in pen_notes(pen, site.units)),
        *(note for camera in site.cameras for note in _notes(camera.name, len(camera.marks), camera.zones)),
        *(note for camera in site.cameras for note in _mark_notes(site, camera)),
    )


def _mark_notes(site: Site, camera: Camera) -> Iterator[str]:
    """Marks that contradict each other, and what the fit of the camera says of itself."""
    pen = site.pen_of(camera)
    if pen is None or len(camera.marks) < FEWEST_MARKS:
        return
    doubt = marks_doubt(camera.marks, pen.posts, lens_of(camera.picture), post_covariance(pen))
    if doubt:
        yield f'camera "{camera.name}", marks: {doubt}.'
    plan = plan_map(site, camera)
    if plan is not None:
        doubts = () if doubt else zone_doubts(plan, camera, pen, site.units)
        yield from (f'camera "{camera.name}": {note}.' for note in (*plan.notes, *doubts))


def _notes(camera: str, marks: int, zones: Sequence[object]) -> Iterator[str]:
    if marks < FEWEST_MARKS:
        have = "no marks" if marks == 0 else f"only {marks} mark{'s' if marks > 1 else ''}"
        yield (
            f'camera "{camera}" has {have}: its digs get a place in the picture but none on the plan '
            f"({FEWEST_MARKS} marks or more, 8 are better)."
        )
    if not any(getattr(zone, "kind", "") == "nesting" for zone in zones):
        yield f'camera "{camera}" has no nesting zone: no digs are looked for in its pictures.'


def _hours(file: SiteFile) -> Iterator[Mistake]:
    start = file.site.night[0]
    if start.hour < 12:
        yield Mistake(
            ("site", "night"),
            f'starts at "{start:%H:%M}", but a night starts at noon or later; all day is ["12:00", "12:00"]',
        )
    elif file.animal.nesting_hours and not _meets(file.site, file.animal.nesting_hours):
        yield Mistake(("animal", "nesting_hours"), "lie outside the night; change them or [site] night")


def _meets(site: SitePart, hours: tuple[object, object]) -> bool:
    return nesting_walls(hours, night_walls(site.night, date(2026, 6, 12))) is not None  # type: ignore[arg-type]


def _unique(names: list[str], path: Path) -> Iterator[Mistake]:
    """Names that differ only in case would be one file on Windows and macOS."""
    seen: dict[str, int] = {}
    for number, name in enumerate(names):
        first = seen.setdefault(name.casefold(), number)
        if first != number:
            yield Mistake(
                (*path, number, "name"), f'"{name}" is already the name of another {path[-1]}; change one'
            )


def _pen(pen: PenPart, path: Path) -> Iterator[Mistake]:
    yield from _outline(pen.outline, (*path, "outline"), _SMALLEST_PEN_M2, "m²")
    mistakes = [*_unique([post.name for post in pen.post], (*path, "post")), *measuring_mistakes(pen, path)]
    yield from mistakes
    if not mistakes:
        yield from open_mistakes(pen, path)


def _camera(file: SiteFile, camera: CameraPart, path: Path) -> Iterator[Mistake]:
    width, height = camera.picture
    smallest = max(_SMALLEST_PX, _SMALLEST_SHARE * width * height)
    yield from _unique([zone.name for zone in camera.zone], (*path, "zone"))
    for number, zone in enumerate(camera.zone):
        place = (*path, "zone", number, "outline")
        yield from _outline(zone.outline, place, smallest, "square pixels")
        yield from (
            _outside(point, camera.picture, (*place, n)) for n, point in _beyond(zone.outline, camera)
        )
    yield from _in_pen(file, camera, path)


def _outline(outline: Sequence[Point], path: Path, smallest: float, unit: str) -> Iterator[Mistake]:
    if len(set(outline)) < 3:
        yield Mistake(path, f"has {len(set(outline))} different corners but needs at least 3; draw it again")
        return
    area = shapely.Polygon(outline)
    if shapely.convex_hull(area).area == 0:
        yield Mistake(path, "has all its corners on one line; draw it again")
    elif not shapely.is_valid(area):
        at = _crossing(outline)
        where = f" near ({at[0]:.4g}, {at[1]:.4g})" if at else ""
        yield Mistake(path, f"crosses or touches itself{where}; put the corners in order round the edge")
    elif area.area < smallest:
        yield Mistake(
            path, f"holds only {area.area:.3g} {unit}, at least {smallest:.3g} are needed; draw it larger"
        )


def _crossing(outline: Sequence[Point]) -> Point | None:
    """Where two edges that are no neighbours meet first, None where only neighbours fold back."""
    count = len(outline)
    edges = [shapely.LineString([outline[n], outline[(n + 1) % count]]) for n in range(count)]
    for n, edge in enumerate(edges):
        for other in edges[n + 2 : count if n else count - 1]:
            if shapely.intersects(edge, other):
                meeting = shapely.intersection(edge, other).representative_point()
                return (float(meeting.x), float(meeting.y))
    return None


def _beyond(points: Sequence[Point], camera: CameraPart) -> list[tuple[int, Point]]:
    width, height = camera.picture
    return [
        (number, (x, y))
        for number, (x, y) in enumerate(points)
        if not (-_EDGE <= x <= width + _EDGE and -_EDGE <= y <= height + _EDGE)
    ]


def _outside(point: Point, picture: tuple[int, int], path: Path) -> Mistake:
    return Mistake(
        path,
        f"({point[0]:g}, {point[1]:g}) lies outside the picture of {picture[0]} x {picture[1]} pixels; "
        "move it inside, or correct picture",
    )


def _in_pen(file: SiteFile, camera: CameraPart, path: Path) -> Iterator[Mistake]:
    """The camera's pen and the marks that point at its posts."""
    pens = {pen.name: pen for pen in file.pen}
    if camera.pen is not None and camera.pen not in pens:
        hint = did_you_mean(camera.pen, pens) or f"; {_known('pens', list(pens))}"
        yield Mistake((*path, "pen"), f'there is no pen "{camera.pen}"{hint}')
    elif camera.pen is None and len(pens) > 1:
        yield Mistake(path, f'which pen does it look at? Add for example pen = "{file.pen[0].name}"')
    elif not pens and camera.mark:
        yield Mistake(
            (*path, "mark", 0), "there is no pen with posts; add a table [[pen]] or take the marks out"
        )
    elif pens:
        yield from _marks(camera, pens[camera.pen] if camera.pen else file.pen[0], path)


def _marks(camera: CameraPart, pen: PenPart, path: Path) -> Iterator[Mistake]:
    posts = [post.name for post in pen.post]
    for number, mark in enumerate(camera.mark):
        if mark.post not in posts:
            hint = did_you_mean(mark.post, posts) or f"; {_known('posts', posts)}"
            yield Mistake(
                (*path, "mark", number, "post"), f'pen "{pen.name}" has no post "{mark.post}"{hint}'
            )
    for number, point in _beyond([mark.pixel for mark in camera.mark], camera):
        yield _outside(point, camera.picture, (*path, "mark", number, "pixel"))
    pointed = [mark.post for mark in camera.mark]
    twice = next((n for n, post in enumerate(pointed) if post in pointed[:n]), None)
    if twice is not None:
        yield Mistake((*path, "mark", twice), "this post is pointed at twice; keep one of the two marks")
    elif len(camera.mark) >= FEWEST_MARKS and set(pointed) <= set(posts) and is_placed(pen, path):
        yield from _fit(camera, pen, path)


def _fit(camera: CameraPart, pen: PenPart, path: Path) -> Iterator[Mistake]:
    marks = tuple(Mark(mark.post, mark.pixel) for mark in camera.mark)
    posts = pen_of(pen).posts
    trouble = marks_trouble(marks, posts)
    if trouble:
        yield Mistake((*path, "mark"), trouble)
        return
    plan = fit_plan(*paired(marks, posts), lens=lens_of(camera.picture))
    for number, zone in enumerate(camera.zone):
        if zone.kind == "nesting" and np.isnan(plan.to_plan(zone.outline)).any():
            yield Mistake(
                (*path, "zone", number, "outline"),
                "reaches above the horizon that the marks give; correct the outline, or marks and posts",
            )


def _known(what: str, names: list[str]) -> str:
    return f"{what} here are {', '.join(names)}" if names else f"there are no {what} in this file"


def _cameras(file: SiteFile) -> Iterator[Mistake]:
    if not file.camera:
        yield Mistake(("camera",), "missing; add a table [[camera]] (docs/site-file.md shows one)")
    elif not any(zone.kind == "nesting" for camera in file.camera for zone in camera.zone):
        path = ("camera", 0, "zone")
        yield Mistake(
            path,
            'no camera has a nesting zone, so no dig can be found; add a [[camera.zone]] of kind = "nesting"',
        )
