"""Visitors as the page tells them: so many in an hour that they cannot be told apart become one line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

Entry = Mapping[str, Any]
_CROWD = 6
"""More visits than this that begin within an hour are a crowd, with all that begin within half an hour of one
of them (as DBSCAN does, Ester et al. 1996): moths come to the infrared light by the hundred (common practice,
no source)."""
_AROUND = timedelta(minutes=30)
_MANY = (
    "so many are mostly insects close to the lens, which look as large as a cat or a person; a person or an "
    "animal among them is not told apart"
)


def told(visitors: Sequence[Entry]) -> list[dict[str, Any]]:
    """Entries of `visitors` (docs/night-file.md) by time, each with `note`: what else is said of it, or None.

    A crowd of one camera is one entry, from the first coming to the last going, with the first picture.
    """
    crowds, alone = [], []
    for camera in dict.fromkeys(each["camera"] for each in visitors):
        own = [each for each in visitors if each["camera"] == camera and each["what"] != "light"]
        thick = [each for each in own if _near(each, own) > _CROWD]
        many = [each for each in own if _near(each, thick)]
        crowds += [_crowd(stretch) for stretch in _stretches(many)]
        alone += [each for each in visitors if each["camera"] == camera and each not in many]
    entries = [*crowds, *({**each, "note": None} for each in alone)]
    return sorted(entries, key=lambda each: datetime.fromisoformat(each["from"]))


def _near(entry: Entry, others: Iterable[Entry]) -> int:
    """How many of the others, itself too if it is one of them, begin within half an hour of it."""
    return sum(abs(_start(other) - _start(entry)) <= _AROUND for other in others)


def _stretches(many: Iterable[Entry]) -> Iterator[list[Entry]]:
    """Entries by time, apart where nobody was there for half an hour."""
    stretch: list[Entry] = []
    for each in sorted(many, key=_start):
        if stretch and _start(each) - datetime.fromisoformat(_last_to(stretch)) > _AROUND:
            yield stretch
            stretch = []
        stretch.append(each)
    if stretch:
        yield stretch


def _crowd(stretch: Sequence[Entry]) -> dict[str, Any]:
    picture = next((each["picture"] for each in stretch if each["picture"]), None)
    what = f"{len(stretch)} times something large"
    return {**stretch[0], "what": what, "to": _last_to(stretch), "picture": picture, "note": _MANY}


def _start(entry: Entry) -> datetime:
    return datetime.fromisoformat(entry["from"])


def _last_to(stretch: Iterable[Entry]) -> str:
    """When the last of them had gone, as it is written."""
    return max((str(each["to"]) for each in stretch), key=datetime.fromisoformat)
