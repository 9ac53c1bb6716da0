"""When hatchlings are to be expected: always from one day to another, and why. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

import numpy as np

from nestwatch.season.incubation.course import Course
from nestwatch.season.incubation.development import Floats, Model
from nestwatch.season.incubation.profile import Profile
from nestwatch.season.incubation.sources import Days, Source

EARLY, LATE = 0.10, 0.20
"""Clutches hatch before and after what a model says. One clutch kept at 31 to 32 °C took 53 to 55 days where
the line through Du & Ji's points says 44 to 46: a fifth longer. The tenth on the early side is judgement."""
FARTHEST_D = 400.0
"""Beyond so many days of looking ahead nothing is said."""


@dataclass(frozen=True, slots=True)
class Window:
    """The first and the last day on which hatching is to be expected, local; `last` None: cannot be told.

    `by`: the profile's days, or readings and a model. `reasons`: sentences; `widened`: those that say why it
    is wider than it need be.
    """

    first: date
    last: date | None
    by: Literal["profile", "readings"]
    reasons: tuple[str, ...]
    widened: tuple[str, ...]

    def words(self) -> str:
        """`2026-08-06 to 2026-08-26`."""
        return f"{self.first} to {self.last}" if self.last else f"from {self.first}, the end cannot be told"


def by_profile(profile: Profile, laid: datetime, zone: ZoneInfo, mean_c: float | None) -> Window | None:
    """From the profile's days, None where it has none.

    `mean_c`: what the eggs were kept at, None where unknown (then what the profile aims at). Days given for
    other temperatures are used only where nothing better is there, all of them together, and it says so.
    """
    if not profile.days:
        return None
    aim = profile.aim_c
    kept = (mean_c, mean_c) if mean_c is not None else None if aim is None else (aim.low, aim.high)
    fitting = [each for each in profile.days if _fits(each, kept)]
    used = fitting or list(profile.days)
    first = min(_spread(each)[0] for each in used)
    last = max(_spread(each)[1] for each in used)
    reasons = [f"{profile.name}: {each.words()}." for each in used]
    if any(each.days.low == each.days.high for each in used):
        reasons.append(_spread_words())
    widened = () if fitting else (_unfit(kept),)
    return Window(_day(laid, first, zone), _day(laid, last, zone), "profile", tuple(reasons), widened)


def by_readings(course: Course, model: Model, source: Source | None, zone: ZoneInfo) -> Window:
    """From the development so far and the temperatures expected."""
    slow, fast = (float(each) for each in model.rate(course.ahead_c))
    first = _reached(course.days, course.high, 1 - EARLY, fast)
    last = _reached(course.days, course.low, 1 + LATE, slow)
    reasons = tuple(_reasons(course, model, source))
    end = None if last is None else _day(course.laid, last, zone)
    return Window(
        _day(course.laid, FARTHEST_D if first is None else first, zone),
        end,
        "readings",
        reasons,
        tuple(_widened(course, model, zone)),
    )


def joined(windows: list[Window]) -> Window | None:
    """One window that holds those of several probes; None for none."""
    if len(windows) < 2:
        return windows[0] if windows else None
    ends = [each.last for each in windows if each.last is not None]
    reasons = dict.fromkeys(
        [f"{len(windows)} probes: the window holds what each of them says."]
        + [line for each in windows for line in each.reasons]
    )
    widened = dict.fromkeys(line for each in windows for line in each.widened)
    last = max(ends) if len(ends) == len(windows) else None
    return Window(min(each.first for each in windows), last, windows[0].by, tuple(reasons), tuple(widened))


def _fits(each: Days, kept: tuple[float, float] | None) -> bool:
    """Days without temperatures fit only where nothing is known of the eggs' own."""
    if each.at_c is None:
        return True
    return kept is None or (each.at_c[0] - 0.5 <= kept[0] and kept[1] <= each.at_c[1] + 0.5)


def _spread(each: Days) -> tuple[float, float]:
    low, high = each.days.low, each.days.high
    return (low * (1 - EARLY), high * (1 + LATE)) if low == high else (low, high)


def _spread_words() -> str:
    return (
        f"Clutches differ: the window runs from {EARLY:.0%} before to {LATE:.0%} after what that says "
        "(one published clutch took a fifth longer than its model; the rest is judgement)."
    )


def _unfit(kept: tuple[float, float] | None) -> str:
    at = "your temperatures"
    if kept is not None:
        at = f"{kept[0]:.1f} °C" if kept[0] == kept[1] else f"{kept[0]:.1f} to {kept[1]:.1f} °C"
    return f"Wider: the profile has no days for {at}; all the days that it has were taken together."


def _reached(days: Floats, done: Floats, share: float, rate: float) -> float | None:
    """Days since laying at which `share` is done, at `rate` a day after the last; None: not in sight."""
    if done[-1] >= share:
        k = int(np.searchsorted(done, share, side="left"))
        step = done[k] - done[k - 1]
        return float(days[k - 1] + (share - done[k - 1]) / step * (days[k] - days[k - 1]))
    ahead = (share - float(done[-1])) / rate if rate > 0 else FARTHEST_D
    return None if ahead >= FARTHEST_D else float(days[-1]) + ahead


def _day(laid: datetime, days: float, zone: ZoneInfo) -> date:
    return (laid + timedelta(days=days)).astimezone(zone).date()


def _reasons(course: Course, model: Model, source: Source | None) -> list[str]:
    low, high = course.done
    lines = [
        f"Model: {model.words()} [{source or 'no source'}].",
        f"Done by the last look: {_percent(low)} to {_percent(high)} of the development.",
        f"From then on {course.ahead_c[0]:.1f} to {course.ahead_c[1]:.1f} °C are expected.",
        _spread_words(),
    ]
    if course.equivalent_c is not None:
        same = f"What was read equals a constant {course.equivalent_c:.1f} °C (Georges 1989)."
        lines.insert(1, same)
    return lines


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _widened(course: Course, model: Model, zone: ZoneInfo) -> list[str]:
    lines = [_gap_words(course, zone)] if course.gaps else []
    first, last = model.within_c
    for hours, what in ((course.hours_below, f"below {first:g}"), (course.hours_above, f"above {last:g}")):
        if hours > 0:
            lines.append(
                f"Wider: {hours:.0f} h were read {what} °C, where the model was not measured: anything from "
                "no development on is allowed for."
            )
    if course.ahead_c[0] < first or course.ahead_c[1] > last:
        lines.append(
            f"Wider: what is expected from now on reaches outside {first:g} to {last:g} °C, where the model "
            "was not measured."
        )
    return lines


def _gap_words(course: Course, zone: ZoneInfo) -> str:
    longest = max(course.gaps, key=lambda gap: gap.hours)
    start, end = (f"{at.astimezone(zone):%Y-%m-%d %H:%M}" for at in (longest.start, longest.end))
    hours = sum(gap.hours for gap in course.gaps)
    count = f"{len(course.gaps)} stretch{'es' if len(course.gaps) > 1 else ''}"
    low, high = longest.assumed_c
    return (
        f"Wider: {hours:.0f} h without readings ({count}, the longest from {start} to {end}); {low:.1f} to "
        f"{high:.1f} °C were taken there."
    )
