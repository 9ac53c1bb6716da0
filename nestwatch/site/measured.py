"""Mistakes in what was measured in a pen: unknown posts, a post measured to itself, places left open."""

from __future__ import annotations

from collections.abc import Iterator

from nestwatch.site.mistakes import Mistake
from nestwatch.site.names import did_you_mean
from nestwatch.site.pens import is_measured, pen_gaps
from nestwatch.site.places import Path
from nestwatch.site.schema import PenPart


def measuring_mistakes(pen: PenPart, path: Path) -> Iterator[Mistake]:
    """Names in tapes and right angles."""
    for number, tape in enumerate(pen.tape):
        yield from _names(pen, tape.between, (*path, "tape", number, "between"))
    for number, square in enumerate(pen.square):
        place = (*path, "square", number)
        yield from _names(pen, (square.at, *square.between), (*place, "between"))


def is_placed(pen: PenPart, path: Path) -> bool:
    """Whether every post has a place, given or measured; where not, a mistake says so already."""
    names = [post.name for post in pen.post]
    sound = len(set(names)) == len(names) and not any(measuring_mistakes(pen, path))
    return sound and not any(open_mistakes(pen, path))


def _names(pen: PenPart, named: tuple[str, ...], path: Path) -> Iterator[Mistake]:
    posts = [post.name for post in pen.post]
    unknown = [name for name in named if name not in posts]
    for name in unknown:
        hint = did_you_mean(name, posts) or "; add it as a [[pen.post]]"
        yield Mistake(path, f'pen "{pen.name}" has no post "{name}"{hint}')
    if not unknown and len(set(named)) < len(named):
        twice = next(name for name in named if named.count(name) > 1)
        yield Mistake(path, f'names "{twice}" twice; name different posts')


def open_mistakes(pen: PenPart, path: Path) -> Iterator[Mistake]:
    """Posts whose place nothing gives."""
    for number, post in enumerate(pen.post):
        if post.at is None and not is_measured(pen):
            yield Mistake(
                (*path, "post", number),
                "at: missing; add for example at = [0.0, 0.0], or measure it with [[pen.tape]]",
            )
    for gap in pen_gaps(pen):
        yield Mistake((*path, "tape"), gap.sentence())
