"""A camera's health in the night file and in the words a keeper acts on."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any

from nestwatch.ground.health_records import Finding
from nestwatch.report import words
from nestwatch.report.records import CameraNight, ZoneSeen
from nestwatch.site.records import NightHours

MOTION = ("moved", "sagged")
"""What shifts the picture but leaves it as clear as it was."""

SHORT: Mapping[str, str] = {
    "moved": "moved",
    "sagged": "sagged slowly",
    "lost": "turned away or covered",
    "dark": "dark",
    "frozen": "frozen picture",
    "glare": "glare",
    "fogged": "fogged",
    "blurred": "blurred",
    "covered": "partly covered",
    "burnt": "partly burnt white",
}

_WORDS: Mapping[str, str] = {
    "moved": "the camera moved by about {px}: check its bracket; if it stays so, redraw outlines and marks",
    "sagged": "the camera sagged slowly by about {px}: tighten its bracket; redraw outlines and marks",
    "lost": "the picture no longer fits the rest of the night: the camera was turned away or covered; "
    "put it back, or redraw outlines and marks",
    "dark": "dark: check the infrared lamp and its power",
    "frozen": "frozen, the same frame again and again: restart the camera or the recorder",
    "glare": "white from strong light: find the light, or shade the lens from it",
    "fogged": "fog, or a misted lens: wipe the lens if it stays so",
    "blurred": "blurred: wipe the lens and check its focus",
    "covered": "about {share} of the nesting zone hidden by something on or close to the lens "
    "(drops, a web, a leaf): wipe the lens, take webs away",
    "burnt": "about {share} of the nesting zone burnt white, by a spider or a web close to the lens or by a "
    "lamp: take webs away, or find the light and turn it",
}


def finding_words(finding: Finding, cm_per_px: float | None = None) -> str:
    """What happened and what to do.

    `cm_per_px`: centimetres on the ground to a picture pixel in the middle of the nesting zone, None where
    that is unknown.
    """
    ground = "" if cm_per_px is None else f" ({max(1, round(finding.amount * cm_per_px))} cm on the ground)"
    pixels = f"{max(1, round(finding.amount))} px{ground}"
    return _WORDS[finding.what].format(px=pixels, share=words.percent(finding.amount))


def health_entries(
    findings: Sequence[Finding], local: Callable[[datetime], str], cm_per_px: float | None
) -> list[dict[str, Any]]:
    """The `health` list of a camera in the night file."""
    return [
        {
            "what": finding.what,
            "from": local(finding.start),
            "to": local(finding.end),
            "words": finding_words(finding, cm_per_px),
        }
        for finding in findings
    ]


def zone_seen_entry(night: CameraNight, hours: NightHours) -> dict[str, Any] | None:
    """The `zone_seen` object of a camera in the night file, None where it was not measured."""
    whole = (hours.nesting[1] - hours.nesting[0]).total_seconds() / 60
    seen = night.zone_seen
    if seen is None and night.account.seconds_read:
        return None
    seen = seen or ZoneSeen(0.0, whole, None)
    return {
        "minutes": round(seen.minutes, 1),
        "of_minutes": round(seen.of_minutes, 1),
        "share": round(seen.minutes / seen.of_minutes, 4) if seen.of_minutes else 0.0,
        "picture": seen.picture,
    }


def within(entry: Mapping[str, Any], hours: Mapping[str, str]) -> bool:
    """Whether a health entry of the night file touches nesting hours."""
    ends = (
        words.seconds_between(hours["from"], entry["to"]),
        words.seconds_between(entry["from"], hours["to"]),
    )
    return min(ends) > 0


def cause(entry: Mapping[str, Any], *, offset: bool) -> str:
    """`fogged 23:10–23:52`, `moved 01:12`."""
    return f"{SHORT[entry['what']]} {when(entry, offset=offset)}"


def when(entry: Mapping[str, Any], *, offset: bool) -> str:
    """An instant for a knock, else a span."""
    if entry["what"] == "moved":
        return words.clock(entry["from"], offset=offset)
    return words.span(entry["from"], entry["to"], offset=offset)
