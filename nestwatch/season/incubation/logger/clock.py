"""Wall times of a logger to instants: fixed clocks, and the site's own through its clock changes."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo

from nestwatch.errors import EntryError

_FIXED = re.compile(r"([+-])(\d{1,2}):?(\d{2})")


def fixed_clock(text: str) -> tzinfo:
    """`utc` or `+01:00` as a zone. Raises `EntryError`."""
    if text.casefold() in {"utc", "z"}:
        return UTC
    found = _FIXED.fullmatch(text)
    if found is None or int(found[2]) > 14 or int(found[3]) > 59:
        raise EntryError(f'"{text}" is no clock; write local, utc, or a fixed offset such as +01:00.')
    ahead = timedelta(hours=int(found[2]), minutes=int(found[3]))
    return timezone(-ahead if found[1] == "-" else ahead)


def instants(walls: Sequence[datetime], zone: ZoneInfo, clock: str | None) -> tuple[list[datetime], str]:
    """Aware UTC instants of wall times in the order of the file (oldest first), and how they were taken.

    The hour that clocks show twice is told apart by its second pass in the file. Raises `EntryError` where
    that hour comes once only or a time was skipped: that clock may not follow summer time.
    """
    if clock is not None and clock.casefold() != "local":
        fixed = fixed_clock(clock)
        return [each.replace(tzinfo=fixed).astimezone(UTC) for each in walls], f"clock {clock}, as you said"
    passes = _passes(walls, zone, sure=clock is not None)
    found = [each.replace(tzinfo=zone, fold=fold) for each, fold in zip(walls, passes, strict=True)]
    how = "the site's own clock" + (", as you said" if clock else "")
    doubled = "; the hour shown twice was told apart by its second pass" if any(passes) else ""
    return [each.astimezone(UTC) for each in found], how + doubled


def _passes(walls: Sequence[datetime], zone: ZoneInfo, *, sure: bool) -> list[int]:
    """0 or 1 for each: the first or the second time that the clocks showed it."""
    kinds = [_kind(each, zone) for each in walls]
    skipped = next((each for each, kind in zip(walls, kinds, strict=True) if kind == "skipped"), None)
    if skipped is not None:
        raise EntryError(
            f"{skipped:%Y-%m-%d %H:%M} was skipped when the clocks went forward, so this logger does not "
            "follow summer time; say --clock utc, or the offset that it keeps, such as --clock +01:00."
        )
    passes, again = [0] * len(walls), False
    for k, kind in enumerate(kinds):
        if kind != "twice":
            again = False
            continue
        inside = k > 0 and kinds[k - 1] == "twice" and walls[k].date() == walls[k - 1].date()
        again = (inside and again) or (inside and walls[k] <= walls[k - 1])
        passes[k] = int(again)
    if not sure:
        _refuse_single_pass(walls, kinds, passes)
    return passes


def _refuse_single_pass(walls: Sequence[datetime], kinds: Sequence[str], passes: Sequence[int]) -> None:
    days = {each.date() for each, kind in zip(walls, kinds, strict=True) if kind == "twice"}
    told = {each.date() for each, which in zip(walls, passes, strict=True) if which}
    for day in sorted(days - told):
        raise EntryError(
            f"the hour that came twice on {day} is in the file once only: say --clock local if the logger "
            "follows summer time, or the offset that it keeps, such as --clock +01:00."
        )


def _kind(at: datetime, zone: ZoneInfo) -> str:
    """`once`, `twice` or `skipped` on the site's clocks."""
    first, second = (at.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    return "once" if first == second else "twice" if first < second else "skipped"
