"""The nightly job as a timer needs it told: what is run, where, and when."""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from nestwatch.errors import SiteError
from nestwatch.site.records import Site

MARGIN = timedelta(minutes=10)
"""So long after the night's end the job begins: recorders write their last file a little later."""
_DAYS = 366


@dataclass(frozen=True, slots=True)
class Job:
    """`arguments`: the absolute interpreter first. `folder`: where it runs. `at`: by the clocks of `zone`.

    `own_clock`: the same by the clocks of this computer, the latest of the year where the two change apart.
    `name` is short and plain (letters, digits, dashes), `title` for people to read. `user`: None where it is
    not known.
    """

    name: str
    title: str
    arguments: tuple[str, ...]
    folder: Path
    at: time
    zone: str
    own_clock: time
    notify: bool
    user: str | None = None


@dataclass(frozen=True, slots=True)
class Unit:
    """A file to be put where the system looks for it."""

    name: str
    content: bytes


def nightly_job(
    site: Site,
    own_zone: str,
    today: date,
    *,
    at: time | None = None,
    notify: bool = False,
    user: str | None = None,
) -> Job:
    """The job of a site, by default ten minutes after its night ends.

    `own_zone`: the IANA name of this computer's time zone; `at`: by the clocks of the site; `user`: who it
    runs as, where a timer wants to know. Raises `SiteError` for a path that no timer can be told.
    """
    path = site.path.resolve()
    arguments = (sys.executable, "-m", "nestwatch", "night", str(path), *(["--notify"] if notify else []))
    if any(not part.isprintable() for part in arguments):
        raise SiteError(f"{path!s}: has a name that no timer can be told; rename the file or its folder.")
    begin = at or default_time(site)
    return Job(
        name=f"nestwatch-{_plain(site.name)}",
        title=" ".join(site.name.split()),
        arguments=arguments,
        folder=path.parent,
        at=begin,
        zone=site.timezone,
        own_clock=elsewhere(begin, site.timezone, own_zone, today),
        notify=notify,
        user=user,
    )


def default_time(site: Site) -> time:
    """Some minutes after the site's night ends, by the site's clocks."""
    end = datetime.combine(date(2000, 1, 1), site.night[1]) + MARGIN
    return end.time()


def elsewhere(at: time, zone: str, other: str, today: date) -> time:
    """A time of day by the clocks of another zone: the latest that it is in the year after `today`.

    Where the zones change their clocks on different days the job is then late for a while, never early.
    """
    there, here = ZoneInfo(other), ZoneInfo(zone)
    days = (datetime.combine(today + timedelta(days=n), at, here) for n in range(_DAYS))
    ahead = max((day.astimezone(there).replace(tzinfo=None) - day.replace(tzinfo=None)) for day in days)
    return (datetime.combine(today, at) + ahead).time()


def _plain(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "site"
