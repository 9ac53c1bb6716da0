"""One dig of the night file as a sheet: every sentence, number and picture, before any layout."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any, Literal

from nestwatch.report import words
from nestwatch.report.marking.records import Picture, Sheet
from nestwatch.report.marking.timing import hours_since, laid_words
from nestwatch.report.marking.where import (
    camera_of,
    near_words,
    place_of,
    side_words,
    tape_lines,
    wall_words,
    why_no_distance,
)
from nestwatch.site.records import Site

_PICTURES: tuple[tuple[Literal["overview", "during", "after"], str], ...] = (
    ("overview", "what the camera sees; the spot is ringed"),
    ("during", "with her on it"),
    ("after", "the same ground after she left"),
)


def make_sheet(site: Site, document: Mapping[str, Any], dig: Mapping[str, Any], folder: Path) -> Sheet:
    """The sheet of a dig; `folder` is the night's, where its pictures lie.

    Raises `NestwatchError` where the site file no longer fits the night.
    """
    offset = words.clocks_change(document)
    where = place_of(site, dig)
    arcs = where.arcs if where else None
    return Sheet(
        rank=dig["rank"],
        of=len(document["digs"]),
        title=words.CALLS[dig["call"]],
        sure=f"eggs {words.sureness(dig['likelihood'])} ({words.percent(dig['likelihood'])})",
        facts=_facts(dig, offset=offset),
        where=where,
        no_distance="" if where else why_no_distance(site, dig),
        tape=tape_lines(arcs, site.units),
        side=side_words(arcs),
        wall=wall_words(where.wall, site.units) if where else "",
        near=near_words(where.within_m, site.units) if where else "",
        laid=laid_words(dig, site, offset=offset),
        hours=hours_since(dig, site, date.fromisoformat(document["night"])),
        pictures=tuple(_picture(folder, dig, name, title) for name, title in _PICTURES),
        zones=camera_of(site, dig).zones,
    )


def _facts(dig: Mapping[str, Any], *, offset: bool) -> tuple[str, ...]:
    stay = words.span(dig["from"], dig["to"], offset=offset)
    lasted = words.duration(words.seconds_between(dig["from"], dig["to"]))
    return f"There {stay} ({lasted})", f"zone {dig['zone']}", f"camera {dig['camera']}"


def _picture(
    folder: Path, dig: Mapping[str, Any], name: Literal["overview", "during", "after"], title: str
) -> Picture:
    path = dig["pictures"].get(name)
    if path is None:
        return Picture(name, title, None, "no picture: nothing was recorded then")
    try:
        file = (folder / path).resolve()
        # A path that leads out of the night's folder was not written by nestwatch.
        jpeg = file.read_bytes() if file.is_relative_to(folder.resolve()) else None
    except OSError:
        jpeg = None
    return Picture(name, title, jpeg, f"{path} is gone; watch the night again to have it")
