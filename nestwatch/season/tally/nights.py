"""The honest denominators: how many nights and hours there were, and how many of them were seen. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from nestwatch.season.tally.records import CameraHours, Nights
from nestwatch.season.tally.seen import ENOUGH_S, Eye, SeenNight
from nestwatch.season.years import Dates


def nights_of(seen: Sequence[SeenNight], season: Dates, cameras: Sequence[str]) -> Nights:
    """All nights in numbers. `season`: first and last that is counted; `cameras`: the site's, in order."""
    inside = [night for night in seen if night.in_season]
    unseen = [night.date for night in inside if not night.is_seen and not night.watched]
    return Nights(
        season=season,
        expected=len(inside),
        scanned=sum(night.scanned for night in inside),
        dark=sum(night.scanned and not night.is_seen for night in inside),
        watched=sum(night.watched for night in inside),
        unseen=len(unseen),
        unseen_nights=tuple(unseen),
        expected_h=sum(_expected_s(night) for night in seen) / 3600,
        read_h=sum(eye.usable_s for night in seen for eye in night.best()) / 3600,
        out_of_season=len(seen) - len(inside),
        cameras=_cameras(seen, cameras),
    )


def _expected_s(night: SeenNight) -> float:
    longest: dict[object, float] = {}
    for eye in night.eyes:
        longest[eye.ground] = max(eye.expected_s, longest.get(eye.ground, 0.0))
    return sum(longest.values())


def _cameras(seen: Sequence[SeenNight], names: Sequence[str]) -> tuple[CameraHours, ...]:
    eyes: dict[str, list[Eye]] = {name: [] for name in names}
    for night in seen:
        for eye in night.eyes:
            eyes.setdefault(eye.camera, []).append(eye)
    return tuple(_hours(name, found) for name, found in eyes.items() if found)


def _hours(name: str, eyes: Iterable[Eye]) -> CameraHours:
    found = list(eyes)
    return CameraHours(
        name,
        found[-1].pen,
        sum(eye.usable_s >= ENOUGH_S for eye in found),
        sum(eye.expected_s for eye in found) / 3600,
        sum(eye.usable_s for eye in found) / 3600,
    )
