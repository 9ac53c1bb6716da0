"""Times, lengths and likelihoods as the keeper reads them.

Instants here are the night file's ISO 8601 strings, local time with offset.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from nestwatch.site.records import Units

_M_PER_INCH = 0.0254  # exact by the definition of the international inch (1959)

CALLS: Mapping[str, str] = {
    "nest": "Nest",
    "trial": "Trial dig, left again",
    "unclear": "Unclear",
    "rest": "Rest, no digging",
}


def clock(instant: str, *, offset: bool = False) -> str:
    """`HH:MM` at the site; with the offset on nights when the clocks change, where an hour repeats."""
    at = datetime.fromisoformat(instant)
    return f"{at:%H:%M}" + (f" (UTC{at.isoformat()[-6:]})" if offset else "")


def span(start: str, end: str, *, offset: bool = False) -> str:
    """`21:14–23:18`."""
    return f"{clock(start, offset=offset)}–{clock(end, offset=offset)}"


def clocks_change(document: Mapping[str, Any]) -> bool:
    """True where the site's offset from UTC differs between the beginning and the end of the night."""
    start, end = (datetime.fromisoformat(document[key]) for key in ("from", "to"))
    return start.utcoffset() != end.utcoffset()


def seconds_between(start: str, end: str) -> float:
    """True seconds from one instant to the other, whatever the clocks did in between."""
    return (datetime.fromisoformat(end) - datetime.fromisoformat(start)).total_seconds()


def raid(entry: Mapping[str, Any]) -> str:
    """The warning for an entry of `raids`."""
    who = "A person, or an animal seen as large as one," if entry["what"] == "person" else "A larger animal"
    return (
        f"RAID? {who} was at {entry['nest']} from {clock(entry['from'])} to {clock(entry['to'])} "
        f"(camera {entry['camera']}): the eggs may be gone or exposed. Look there first."
    )


def clock_note(entry: Mapping[str, Any]) -> str:
    """How far two cameras' clocks disagree, for an entry of `clocks`; which one is wrong nobody can tell."""
    ahead, within = (_seconds(entry[name]) for name in ("ahead_s", "within_s"))
    return (
        f'Clocks: camera "{entry["camera"]}" runs {ahead} ahead of "{entry["other"]}" (within {within}, from '
        f"{entry['events']} shared {entry['by']}): set the clock that is wrong, or its clock_error_s in the "
        "site file."
    )


def _seconds(seconds: float) -> str:
    """`42 s`, or `5 min 02 s` from two minutes on."""
    minutes, rest = divmod(max(1, round(seconds)), 60)
    return f"{60 * minutes + rest} s" if minutes < 2 else f"{minutes} min {rest:02d} s"


def duration(seconds: float) -> str:
    """`none`, `45 s`, `30 min`, `2 h 04 min`; rounded to the minute from one minute on."""
    if seconds <= 0:
        return "none"
    if seconds <= 59:
        return f"{math.ceil(seconds)} s"
    hours, minutes = divmod(round(seconds / 60), 60)
    if not hours:
        return f"{minutes} min"
    return f"{hours} h {minutes:02d} min" if minutes else f"{hours} h"


def length(metres: float, units: Units) -> str:
    """A length to be taped: `2.70 m`, or `8 ft 10½ in` to the nearest half inch."""
    if units == "metric":
        return f"{metres:.2f} m"
    halves = round(abs(metres) / _M_PER_INCH * 2)
    feet, rest = divmod(halves, 24)
    inches = f"{rest // 2 or ''}{'½' if rest % 2 else ''}" or "0"
    return f"{'-' if metres < 0 and halves else ''}{feet} ft {inches} in"


def nearness(metres: float, units: Units) -> str:
    """A radius, rounded up so that it still holds what it held: `6 cm`, or `2½ in`."""
    if units == "metric":
        return f"{math.ceil(round(metres * 100, 3))} cm"
    halves = math.ceil(round(metres / _M_PER_INCH * 2, 3))
    return f"{halves // 2 or ''}{'½' if halves % 2 else ''} in" if halves else "0 in"


def shell(centimetres: float, units: Units) -> str:
    """A shell's length: `16.1 cm`, or `6.3 in`."""
    return f"{centimetres:.1f} cm" if units == "metric" else f"{centimetres / 100 / _M_PER_INCH:.1f} in"


def percent(likelihood: float) -> str:
    """Whole per cent, never 0 or 100: nothing seen through a camera is certain."""
    return f"{min(max(round(likelihood * 100), 1), 99)} %"


def sureness(likelihood: float) -> str:
    """The likelihood that eggs lie there, in words."""
    steps = ((0.85, "very likely"), (0.6, "likely"), (0.4, "possible"), (0.15, "unlikely"))
    return next((word for least, word in steps if likelihood >= least), "very unlikely")


def likelihood_note(fit: Mapping[str, Any] | None) -> str:
    """What a night's likelihoods rest on, for its entry `likelihood_fit`."""
    if fit is None:
        return "Likelihoods were set on invented nights only, not on finds of this site."
    on = datetime.fromisoformat(fit["at"]).date().isoformat()
    finds, eggs = fit["finds"], fit["with_eggs"]
    return f"Likelihoods are fitted to {finds} finds of this site ({eggs} with eggs), on {on}."


def place(dig: Mapping[str, Any], units: Units) -> str:
    """Where to put the stake: plan metres (or feet), else the pixel and why there is no distance."""
    if dig["plan_m"] is None:
        x, y = dig["pixel"]
        return f"pixel {x:.0f}, {y:.0f} (no marks: no distance)"
    x, y = (length(metres, units) for metres in dig["plan_m"])
    within = "" if dig["within_m"] is None else f", within {nearness(dig['within_m'], units)}"
    return f"plan x {x}, y {y}{within}"


def tape(dig: Mapping[str, Any], units: Units) -> str:
    """The taped distances from posts, `""` where there are none."""
    return ", ".join(f"{length(each['m'], units)} from {each['post']}" for each in dig["tape"])
