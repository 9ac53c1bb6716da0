"""Still pictures of a camera for drawing on: one instant, or the median of several, without insects."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from threading import Lock

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.errors import FootageError
from nestwatch.footage import Footage, find_footage, read_pictures
from nestwatch.footage.listing import Started, list_files, placer_of
from nestwatch.ground.collect import median_of
from nestwatch.site.hours import last_night, night_hours
from nestwatch.site.records import Camera, NightHours, Site

WIDEST = 2560
"""Pixels across a still; wider footage is reduced."""
REACH_S = 90.0
"""A still may be taken so many seconds from the instant asked for."""
_AVERAGED = 15
_APART_S = 4.0
_QUALITY = 90

Rgb = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class NightStrip:
    """One night for the slider: its `hours`, and the stretches (aware UTC) that were recorded."""

    hours: NightHours
    recorded: tuple[tuple[datetime, datetime], ...]


class Stills:
    """Stills of one site's cameras (by number in the file). Safe to call from several threads."""

    def __init__(self, site: Site) -> None:
        self._site = site
        self._lock = Lock()
        self._footage = lru_cache(maxsize=16)(self._find)
        self._jpeg = lru_cache(maxsize=64)(self._encode)

    def nights(self, camera: int) -> list[date]:
        """Nights in which recordings begin, the newest first; raises `FootageError` where there are none.

        Without a time in name or container the file's own time is believed: for drawing it is near enough.
        """
        ours = self._site.cameras[camera]
        placer = placer_of(ours, self._site.timezone, trust_mtime=True)
        placed = (placer.place(file) for file in list_files(ours))
        nights = {self._night_of(one.rounds[0]) for one in placed if isinstance(one, Started)}
        if not nights:
            raise FootageError(
                f'camera "{ours.name}": none of the files in {ours.footage} can be read as a recording; '
                "check them with: nestwatch check"
            )
        return sorted(nights, reverse=True)

    def strip(self, camera: int, night: date) -> NightStrip:
        """What was recorded in a night; nothing is not an error."""
        with self._lock:
            footage = self._footage(camera, night)
        return NightStrip(night_hours(self._site, night), tuple(_recorded(footage)))

    def still(
        self, camera: int, night: date, at: datetime, *, averaged: bool = False, width: int = WIDEST
    ) -> bytes | None:
        """A JPEG near an instant (aware), None where nothing was recorded within `REACH_S` of it.

        `width`: pixels across at most; an averaged still is as wide as can be.
        """
        with self._lock:
            return self._jpeg(camera, night, at.astimezone(UTC), averaged, width)

    def size(self, camera: int, night: date) -> tuple[int, int]:
        """(width, height) of the recordings in pixels, that of the site file where there are none."""
        with self._lock:
            footage = self._footage(camera, night)
        return (footage.width, footage.height)

    def _night_of(self, instant: datetime) -> date:
        """The first night that ends after `instant`."""
        return last_night(self._site, instant) + timedelta(days=1)

    def _find(self, camera: int, night: date) -> Footage:
        ours: Camera = self._site.cameras[camera]
        hours = night_hours(self._site, night)
        return find_footage(ours, hours, self._site.timezone, trust_mtime=True)

    def _encode(self, camera: int, night: date, at: datetime, averaged: bool, width: int) -> bytes | None:
        footage = self._footage(camera, night)
        picture = _averaged(footage, at) if averaged else _single(footage, at, width)
        if picture is None:
            return None
        done, data = cv2.imencode(".jpg", picture[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, _QUALITY])
        return data.tobytes() if done else None


def _recorded(footage: Footage) -> Iterator[tuple[datetime, datetime]]:
    """Stretches with pictures, joined where they touch, cut at the night's ends."""
    begin: datetime | None = None
    end = footage.start
    for recording in footage.recordings:
        if begin is not None and recording.start - end <= timedelta(seconds=REACH_S):
            end = max(end, recording.end)
            continue
        if begin is not None:
            yield begin, min(end, footage.end)
        begin, end = max(recording.start, footage.start), recording.end
    if begin is not None:
        yield begin, min(end, footage.end)


def _single(footage: Footage, at: datetime, width: int = WIDEST) -> Rgb | None:
    return next(read_pictures(footage, [at], width=width, reach_s=REACH_S))


def _averaged(footage: Footage, at: datetime) -> Rgb | None:
    """The median of some fifteen key frames around an instant: what moves is in few of them at any place."""
    apart = max(_APART_S, _key_spacing(footage, at))
    steps = (apart * (number - _AVERAGED // 2) for number in range(_AVERAGED))
    times = [at + timedelta(seconds=step) for step in steps]
    found = [one for one in read_pictures(footage, times, width=WIDEST, reach_s=apart) if one is not None]
    return np.asarray(median_of(found), np.uint8) if found else _single(footage, at)


def _key_spacing(footage: Footage, at: datetime) -> float:
    """Seconds between the key frames of the recording that shows `at`, 0 where that is unknown."""
    for recording in footage.recordings:
        if recording.start <= at < recording.end and len(recording.key_times) > 1:
            return float(np.median(np.diff(recording.key_times)))
    return 0.0
