"""A site file that is still being drawn: read even where outlines and marks are missing or wrong.

`load_site` refuses such a file, since no night could be watched with it; the drawing page mends it.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from nestwatch.site import file
from nestwatch.site.checks import find_mistakes
from nestwatch.site.drawing import Drawing
from nestwatch.site.keep import fingerprint
from nestwatch.site.mistakes import Mistake, from_pydantic
from nestwatch.site.places import in_words
from nestwatch.site.records import Site
from nestwatch.site.schema import SiteFile

UNFINISHED = ("camera", 0, "zone")
"""Where `checks` puts that no camera has a nesting zone yet."""


@dataclass(frozen=True, slots=True)
class Draft:
    """`site` as far as it is known; `text` and `data` of the file, `seen` its `fingerprint`."""

    path: Path
    site: Site
    text: str
    data: Mapping[str, Any]
    seen: str


@dataclass(frozen=True, slots=True)
class Proposal:
    """A draft with other drawings. `site` is None where the drawings have not even the right form.

    `mistakes` are those of the drawings, with their place; `words` the same as sentences, place first.
    """

    site: Site | None
    mistakes: tuple[Mistake, ...]
    words: tuple[str, ...]


def load_draft(path: Path) -> Draft:
    """Read a site file for drawing. Raises `SiteError` for any mistake that drawing cannot mend."""
    seen = _seen(path)  # before the text: a change in between is then noticed when saving
    text = file.read_text(path)
    data = file.parse(path, text)
    parts = file.validate(path, text, data)
    others = [mistake for mistake in find_mistakes(parts) if not is_drawn(mistake)]
    if others:
        raise file.site_error(path, text, data, others)
    return Draft(path, file.site_of(path, parts), text, data, seen)


def _seen(path: Path) -> str:
    try:
        return fingerprint(path.read_bytes())
    except OSError:
        return ""  # reading the text will say what is wrong


def propose(draft: Draft, drawings: Mapping[str, Drawing]) -> Proposal:
    """The draft as it would be with the drawings of some cameras (by name)."""
    data = with_drawings(draft.data, drawings)
    try:
        parts = SiteFile.model_validate(data)
    except ValidationError as error:
        return _proposal(None, from_pydantic(error), data)
    mistakes = find_mistakes(parts)
    return _proposal(file.site_of(draft.path, parts), mistakes, data)


def with_drawings(data: Mapping[str, Any], drawings: Mapping[str, Drawing]) -> dict[str, Any]:
    """The file's data with the zones and marks of some cameras replaced."""
    out = copy.deepcopy(dict(data))
    for camera in out["camera"]:
        drawing = drawings.get(camera["name"])
        if drawing is not None:
            camera["zone"] = [
                {"name": zone.name, "kind": zone.kind, "outline": [list(p) for p in zone.outline]}
                for zone in drawing.zones
            ]
            camera["mark"] = [{"post": mark.post, "pixel": list(mark.pixel)} for mark in drawing.marks]
    return out


def is_drawn(mistake: Mistake) -> bool:
    """Whether a mistake is about an outline or a mark, which the page can change."""
    return len(mistake.path) > 2 and mistake.path[0] == "camera" and mistake.path[2] in {"zone", "mark"}


def is_unfinished(mistake: Mistake) -> bool:
    """Whether it says only that nothing has been drawn yet."""
    return mistake.path == UNFINISHED


def _proposal(site: Site | None, mistakes: list[Mistake], data: Mapping[str, Any]) -> Proposal:
    words = tuple(f"{in_words(mistake.path, data)}: {mistake.text}" for mistake in mistakes)
    return Proposal(site, tuple(mistakes), words)
