"""When eggs were laid, how long ago that is in the morning, and by when lifting is best done."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from nestwatch.report import words
from nestwatch.site.records import Site

SAFE_AFTER_LAYING = timedelta(hours=3)
"""Moving eggs of sea turtles from about 3 hours to about 3 weeks after laying often kills them (Harry &
Limpus 1989, Aust. Wildl. Res. 16: 317-320; the abstract was read). For freshwater turtles no such number was
found."""
HOW_SURE = (
    "How sure: the 3 hours come from sea turtles (Harry & Limpus 1989, Aust. Wildl. Res. 16: 317, abstract), "
    "not from {animal}; painted turtles' eggs were dug up and handled without loss (Chelonian Conserv. Biol. "
    "6(2): 255)."
)
_MORNING = (6, 8, 10, 12)


def laying_began(dig: Mapping[str, Any]) -> tuple[datetime, datetime, bool]:
    """(earliest, latest, seen): the stretch of laying where it was seen, else the whole stay."""
    for stage in dig["stages"]:
        if stage["stage"] == "lay":
            return datetime.fromisoformat(stage["from"]), datetime.fromisoformat(stage["to"]), True
    return datetime.fromisoformat(dig["from"]), datetime.fromisoformat(dig["to"]), False


def laid_words(dig: Mapping[str, Any], site: Site, *, offset: bool) -> tuple[str, ...]:
    """Sentences: when eggs were laid, by when lifting is best done, and how sure that is."""
    start, end, seen = laying_began(dig)
    span = words.span(start.isoformat(), end.isoformat(), offset=offset)
    laid = (
        f"Laid about {span}." if seen else f"Laying was not told apart; if there are eggs, they came {span}."
    )
    by = (start + SAFE_AFTER_LAYING).astimezone(ZoneInfo(site.timezone))
    best = words.clock(by.isoformat(), offset=offset)
    lift = (
        f"Lifting is best done by {best} (3 h after laying began). Later: soon, and without turning any egg."
    )
    return laid, lift, HOW_SURE.format(animal=site.animal.name)


def hours_since(dig: Mapping[str, Any], site: Site, night: date) -> tuple[tuple[str, str], ...]:
    """(clock, time since laying began) at hours of the morning after, those before its end left out."""
    start, end, _ = laying_began(dig)
    zone = ZoneInfo(site.timezone)
    morning = [datetime.combine(night + timedelta(days=1), time(hour), zone) for hour in _MORNING]
    return tuple(
        (f"{at:%H:%M}", words.duration(words.seconds_between(start.isoformat(), at.isoformat())))
        for at in morning
        if at > end
    )
