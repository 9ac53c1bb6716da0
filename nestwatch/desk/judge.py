"""A drawing looked at as the site file would be: every mistake with its place, doubts, and the plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from nestwatch.desk.plan_view import plan_view
from nestwatch.errors import SiteError
from nestwatch.site.draft import Draft, Proposal, is_unfinished, propose
from nestwatch.site.drawing import Drawing
from nestwatch.site.lens import lens_of
from nestwatch.site.marks import FEWEST_MARKS, marks_doubt
from nestwatch.site.mistakes import Mistake
from nestwatch.site.pens import post_covariance
from nestwatch.site.plan import plan_map
from nestwatch.site.records import Camera, Site


@dataclass(frozen=True, slots=True)
class Complaint:
    """One mistake on the page, about zones or about marks.

    `zone`, `corner`, `mark`: positions in the drawing, None where it is about none or all of them.
    """

    text: str
    about: str
    zone: int | None = None
    corner: int | None = None
    mark: int | None = None


@dataclass(frozen=True, slots=True)
class Judgement:
    """What the page shows beside a drawing.

    `mistakes` keep it from being saved, `hints` do not. `plan` is `plan_view`'s, None where the marks do not
    tie the picture to a plan.
    """

    mistakes: tuple[Complaint, ...]
    hints: tuple[str, ...]
    plan: dict[str, Any] | None


def judge(draft: Draft, number: int, drawing: Drawing) -> Judgement:
    """Look at the drawing of camera `number`; the other cameras are taken as the file has them."""
    proposal = _proposal(draft, number, drawing)
    mistakes = _mistakes(proposal, number, drawing)
    if proposal.site is None:
        return Judgement(mistakes, (), None)
    camera = proposal.site.cameras[number]
    plan = None if _has_wrong_marks(mistakes) else _plan(proposal.site, camera)
    return Judgement(mistakes, _hints(proposal.site, camera), plan)


def doubts(draft: Draft, number: int, drawing: Drawing) -> tuple[str, ...]:
    """Marks that contradict each other, named, and what the fit says of itself: sentences.

    Apart from `judge` because naming the odd one among ten marks takes seconds.
    """
    proposal = _proposal(draft, number, drawing)
    if proposal.site is None or _has_wrong_marks(_mistakes(proposal, number, drawing)):
        return ()
    return _doubts(proposal.site, proposal.site.cameras[number])


def blocking(draft: Draft, drawings: Mapping[str, Drawing]) -> list[str]:
    """Why these drawings cannot be saved, in sentences; [] where they can.

    That nothing is drawn yet is no reason: what is there is kept, and the night's command says the rest.
    """
    proposal: Proposal = propose(draft, drawings)
    pairs = zip(proposal.mistakes, proposal.words, strict=True)
    return [words for mistake, words in pairs if not is_unfinished(mistake)]


def complaint(mistake: Mistake, drawing: Drawing) -> Complaint:
    """A mistake with its place in the drawing, and the place named in its words."""
    kind, *where = mistake.path[2:]
    index = where[0] if where and isinstance(where[0], int) else None
    if kind == "zone" and index is not None and index < len(drawing.zones):
        corner = mistake.path[5] if len(mistake.path) > 5 and isinstance(mistake.path[5], int) else None
        at = f", corner {corner + 1}" if corner is not None else ""
        name = drawing.zones[index].name or f"number {index + 1}"
        return Complaint(f"Zone {name}{at}: {mistake.text}.", "zone", zone=index, corner=corner)
    if kind == "mark" and index is not None and index < len(drawing.marks):
        return Complaint(f"Mark {drawing.marks[index].post}: {mistake.text}.", "mark", mark=index)
    return Complaint(f"{'Marks' if kind == 'mark' else 'Zones'}: {mistake.text}.", str(kind))


def _proposal(draft: Draft, number: int, drawing: Drawing) -> Proposal:
    return propose(draft, {draft.site.cameras[number].name: drawing})


def _mistakes(proposal: Proposal, number: int, drawing: Drawing) -> tuple[Complaint, ...]:
    return tuple(complaint(one, drawing) for one in proposal.mistakes if _is_of(number, one))


def _has_wrong_marks(mistakes: tuple[Complaint, ...]) -> bool:
    return any(one.about == "mark" for one in mistakes)


def _is_of(number: int, mistake: Mistake) -> bool:
    ours = len(mistake.path) > 2 and mistake.path[:2] == ("camera", number)
    return ours and not is_unfinished(mistake)


def _doubts(site: Site, camera: Camera) -> tuple[str, ...]:
    pen = site.pen_of(camera)
    if pen is None or len(camera.marks) < FEWEST_MARKS:
        return ()
    doubt = marks_doubt(camera.marks, pen.posts, lens_of(camera.picture), post_covariance(pen))
    try:
        plan = plan_map(site, camera)
    except SiteError as error:
        return (str(error),)
    notes = plan.notes if plan else ()
    return tuple(f"{note[0].upper()}{note[1:]}." for note in ((doubt,) if doubt else ()) + notes)


def _hints(site: Site, camera: Camera) -> tuple[str, ...]:
    """What is still missing, the most important first."""
    hints = []
    if not camera.zones_of("nesting"):
        hints.append("Draw a nesting zone: without one no digs are looked for in this camera's pictures.")
    pen = site.pen_of(camera)
    if pen is None or not pen.posts:
        hints.append(
            "This camera has no pen with posts in the site file, so nothing can be measured out; "
            "docs/site-file.md shows how to write [[pen]] and [[pen.post]]."
        )
    elif len(camera.marks) < FEWEST_MARKS:
        left = FEWEST_MARKS - len(camera.marks)
        hints.append(
            f"Mark {left} more post{'s' if left > 1 else ''} for places on the plan; eight or more, round "
            "the zone and inside it, are better."
        )
    return tuple(hints)


def _plan(site: Site, camera: Camera) -> dict[str, Any] | None:
    pen = site.pen_of(camera)
    try:
        plan = plan_map(site, camera)
    except SiteError:
        return None  # `_doubts` says so
    return plan_view(site, camera, pen, plan) if plan and pen else None
