"""Pens with places for all their posts: as given, or solved from what was measured between them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from nestwatch.site.gaps import Gap, survey_gaps
from nestwatch.site.measurements import Known
from nestwatch.site.records import Pen, Post, Square, Tape, Units
from nestwatch.site.schema import PenPart
from nestwatch.site.survey import TAPE_SIGMA_M, Check, Survey, solve_posts
from nestwatch.site.tape import format_length

Floats = NDArray[np.float64]


def pen_of(part: PenPart) -> Pen:
    """The record of a pen. Every post needs a place or measurements (`checks` has seen to that)."""
    given = tuple(Post(post.name, post.at) for post in part.post if post.at is not None)
    if not is_measured(part):
        return Pen(part.name, part.outline, given)
    survey = _solved(part)
    return Pen(
        name=part.name,
        outline=part.outline,
        posts=tuple(Post(name, survey.place(name)) for name in survey.posts),
        tapes=_tapes(part),
        squares=tuple(Square(square.at, square.between) for square in part.square),
        known=given,
        post_covariance=tuple(tuple(float(value) for value in row) for row in survey.covariance),
    )


def is_measured(part: PenPart) -> bool:
    """Whether anything was measured between two posts or more."""
    return bool(len(part.post) > 1 and (part.tape or part.square))


def pen_gaps(part: PenPart) -> tuple[Gap, ...]:
    """What the measurements of a pen leave open."""
    return survey_gaps(_solved(part)) if is_measured(part) else ()


def pen_survey(pen: Pen) -> Survey | None:
    """The posts of a pen solved again, with every check; None where their places were only given."""
    if not (pen.tapes or pen.squares):
        return None
    known = [Known(post.name, post.at, TAPE_SIGMA_M) for post in pen.known]
    return solve_posts([post.name for post in pen.posts], known=known, tapes=pen.tapes, squares=pen.squares)


def pen_notes(pen: Pen, units: Units) -> tuple[str, ...]:
    """Sentences on measurements that contradict the others, and on what was chosen."""
    survey = pen_survey(pen)
    if survey is None or not survey.suspects:
        return ()
    first, *others = (survey.checks[n] for n in survey.suspects)
    also = f" (or {', or '.join(check.words for check in others)})" if others else ""
    return (f'pen "{pen.name}": {_contradiction(first, units)}{also}; measure it again.',)


def pen_lines(pen: Pen, units: Units) -> tuple[str, ...]:
    """Every measurement with what is left of it after the fit, and how well posts are known; () where places
    were only given."""
    survey = pen_survey(pen)
    if survey is None:
        return ()
    worst = max(survey.posts, key=lambda post: survey.ellipse(post).major_m)
    chosen = f" {survey.gauge[0].upper()}{survey.gauge[1:]}." if survey.gauge else ""
    return (
        f"{len(survey.posts)} posts solved; the least known is {worst}, to "
        f"{survey.ellipse(worst).major_m * 1000:.0f} mm (one standard deviation).{chosen}",
        *(f"{check.words}: {_left(check, units)}" for check in survey.checks),
    )


def _left(check: Check, units: Units) -> str:
    """What a measurement misses the fit by."""
    if check.words.startswith("right angle"):
        value, off = "90 degrees", f"{abs(np.degrees(check.residual)):.2f} degrees"
    else:
        value, off = _length(check.measured, units), f"{abs(check.residual) * 1000:.0f} mm"
    return f"{value}, " + (f"fits to {off}" if np.isfinite(check.normalised) else "nothing checks it")


def _contradiction(check: Check, units: Units) -> str:
    if check.words.startswith("right angle"):
        return f"the {check.words} contradicts the rest, by {abs(np.degrees(check.mistake)):.0f} degrees"
    says = max(0.0, check.measured + check.mistake)
    return (
        f"{check.words} is given as {_length(check.measured, units)}, but all the rest says "
        f"{_length(says, units)}"
    )


def _length(metres: float, units: Units) -> str:
    return f"-{format_length(-metres, units)}" if metres < 0 else format_length(metres, units)


def post_covariance(pen: Pen) -> Floats:
    """(2n, 2n) square metres over the posts of a pen, in their order; independent where they were given."""
    if pen.post_covariance is None:
        return np.eye(2 * len(pen.posts)) * TAPE_SIGMA_M**2
    return np.array(pen.post_covariance, np.float64)


def _solved(part: PenPart) -> Survey:
    known = [Known(post.name, post.at, TAPE_SIGMA_M) for post in part.post if post.at is not None]
    squares = [Square(square.at, square.between) for square in part.square]
    return solve_posts([post.name for post in part.post], known=known, tapes=_tapes(part), squares=squares)


def _tapes(part: PenPart) -> tuple[Tape, ...]:
    return tuple(Tape(tape.between, tape.length, TAPE_SIGMA_M) for tape in part.tape)
