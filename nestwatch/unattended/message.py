"""A night in a short message. Pure.

It leaves the house through other people's computers: no pictures, no latitude and longitude ever, and where a
dig is only where the site file says `places = true`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from nestwatch.report.summary import misses_something, saw_nothing, summary_lines
from nestwatch.site.hours import night_hours
from nestwatch.site.records import Site

_REST = "Pictures and places are on the computer that watched: index.html in the folder of this night."


@dataclass(frozen=True, slots=True)
class Message:
    """`subject` is one line; `lines` are the text."""

    subject: str
    lines: tuple[str, ...]

    @property
    def text(self) -> str:
        """The lines as one text that ends in a line end."""
        return "".join(f"{line}\n" for line in self.lines)


def night_message(site: Site, document: Mapping[str, Any], *, places: bool) -> Message:
    """The message about a finished night, from its night file's content."""
    night = date.fromisoformat(document["night"])
    lines = summary_lines(site, night_hours(site, night), document, places=places)
    return Message(_subject(site, night, _headline(document)), (*lines, _REST))


def failed_message(site: Site, night: date, why: str) -> Message:
    """The message about a night that could not be watched. `why` is the error's line."""
    lines = (
        f"NOTHING CAN BE SAID about the night of {night}: it could not be watched.",
        " ".join(why.splitlines()),
        "Look at the ground yourself, then at the computer and the cameras.",
    )
    return Message(_subject(site, night, "NOT WATCHED"), lines)


def _subject(site: Site, night: date, headline: str) -> str:
    return f"nestwatch, {site.name}, {night}: {headline}"


def _headline(document: Mapping[str, Any]) -> str:
    """`RAID? 1 nest, 2 unclear; not all was seen`."""
    if saw_nothing(document):
        return "NOTHING CAN BE SAID, no camera saw anything"
    raid = "RAID? " if document["raids"] else ""
    unseen = "; not all was seen" if misses_something(document) else ""
    return f"{raid}{_digs(document['digs'])}{unseen}"


def _digs(digs: Sequence[Mapping[str, Any]]) -> str:
    """`1 nest, 2 trials`, the most important first; `no dig found`."""
    calls = Counter(dig["call"] for dig in digs)
    words = {"nest": ("nest", "nests"), "unclear": ("unclear", "unclear"), "trial": ("trial", "trials")}
    told = [
        f"{calls[call]} {one if calls[call] == 1 else many}"
        for call, (one, many) in words.items()
        if calls[call]
    ]
    return ", ".join(told) or "no dig found"
