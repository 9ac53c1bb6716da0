"""The night page: one self-contained `index.html`, readable on a phone in daylight, without scripts."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import quote

import jinja2

from nestwatch.report import health, palette, visits, words
from nestwatch.report.summary import misses_something, raid_lines, summary_lines
from nestwatch.report.templating import page_templates
from nestwatch.site.records import NightHours, Site, Units

NAME = "index.html"
_THINNEST = 0.15  # per cent of a bar: about a pixel
_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


def night_page(site: Site, hours: NightHours, document: Mapping[str, Any], folder: Path) -> str:
    """The page of a night file as HTML. Pictures of `folder` are put into the page, clips are linked.

    A picture that has gone missing is said to be missing. Names are escaped wherever they come from.
    """
    raids = raid_lines(document)
    headline, *lines = summary_lines(site, hours, document)[len(raids) :]
    digs = document["digs"]
    environment = _environment(site.units, folder, words.clocks_change(document))
    return environment.get_template("night.html.j2").render(
        night=document,
        evening=long_date(hours.date),
        raids=raids,
        headline=headline,
        lines=lines,
        loud=misses_something(document),
        likely=[dig for dig in digs if dig["call"] != "rest"],
        visitors=visits.told(document["visitors"]),
        rests=[dig for dig in digs if dig["call"] == "rest"],
        ticks=_ticks(document["from"], document["to"]),
        light=palette.LIGHT,
        dark=palette.DARK,
    )


def long_date(day: date) -> str:
    """`Friday 12 June 2026`, in English whatever the computer's language."""
    return f"{_DAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]} {day.year}"


def portion(start: str, end: str, whole: Mapping[str, str]) -> str:
    """CSS that lays `start`..`end` onto a bar standing for `whole["from"]..whole["to"]`.

    Cut off at the bar's ends; never thinner than can be seen.
    """
    left, right = _per_cent(start, whole), _per_cent(end, whole)
    return f"left:{min(left, 100 - _THINNEST):.2f}%;width:{max(right - left, _THINNEST):.2f}%"


def position(instant: str, whole: Mapping[str, str]) -> str:
    """CSS that puts a mark at `instant` on a bar standing for `whole["from"]..whole["to"]`."""
    return f"left:{_per_cent(instant, whole):.2f}%"


def _per_cent(instant: str, whole: Mapping[str, str]) -> float:
    """How far into `whole` an instant lies, 0..100."""
    share = words.seconds_between(whole["from"], instant) / words.seconds_between(whole["from"], whole["to"])
    return min(max(share, 0.0), 1.0) * 100


def _ticks(start: str, end: str) -> list[tuple[str, str]]:
    """(instant, label) for the full hours that label a night's bar, every third one."""
    first, last = datetime.fromisoformat(start), datetime.fromisoformat(end)
    at = first.replace(minute=0, second=0)
    hours = [at + timedelta(hours=n) for n in range(int((last - first) / timedelta(hours=1)) + 2)]
    # The offset is the evening's: after a change of clocks the labels go on in the evening's time.
    return [(hour.isoformat(), f"{hour:%H}") for hour in hours if first <= hour <= last and not hour.hour % 3]


def _environment(units: Units, folder: Path, offset: bool) -> jinja2.Environment:
    """The templates with this site's way of writing numbers."""
    environment = page_templates()
    environment.filters.update(
        percent=words.percent,
        likelihood_note=words.likelihood_note,
        sureness=words.sureness,
        duration=words.duration,
        link=quote,
        image=lambda name: _image(folder, name),
        clock=lambda instant: words.clock(instant, offset=offset),
        span=lambda each: words.span(each["from"], each["to"], offset=offset),
        when=lambda each: health.when(each, offset=offset),
        lasted=lambda each: words.duration(words.seconds_between(each["from"], each["to"])),
        shell=lambda centimetres: words.shell(centimetres, units),
        nearness=lambda metres: words.nearness(metres, units),
        taped=lambda metres: words.length(metres, units),
        call=words.CALLS.__getitem__,
    )
    environment.globals.update(portion=portion, position=position)
    return environment


def _image(folder: Path, name: str | None) -> str | None:
    """A picture as a data URI, None where it was never made or has gone."""
    if name is None:
        return None
    try:
        content = (folder / name).read_bytes()
    except OSError:
        return None
    return "data:image/jpeg;base64," + base64.b64encode(content).decode("ascii")
