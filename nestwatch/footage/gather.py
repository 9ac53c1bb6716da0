"""Still pictures -> runs: pictures of one size taken at intervals, as one recording each."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from nestwatch.footage.clocks import settle
from nestwatch.footage.layout import frame_distance, spans_of
from nestwatch.footage.listing import Started
from nestwatch.footage.opening import CannotRead
from nestwatch.footage.records import Recording, Unreadable
from nestwatch.footage.stills import still_head
from nestwatch.site.records import NightHours

Still = tuple[float, Path, bool]  # POSIX seconds, file, ambiguous


def still_runs(
    started: Sequence[Started], hours: NightHours, recordings: list[Recording], unreadable: list[Unreadable]
) -> None:
    """Add one recording per picture size to `recordings`, and what cannot be read to `unreadable`."""
    inside = [one for one in started if one.rounds[1] >= hours.start and one.rounds[0] < hours.end]
    sizes: defaultdict[tuple[int, int], list[Still]] = defaultdict(list)
    for one, (at, ambiguous) in zip(inside, _settled(inside), strict=True):
        try:
            head = still_head(one.file.path)
        except CannotRead as error:
            unreadable.append(Unreadable(one.file.name, str(error), at))
            continue
        if hours.start <= at < hours.end:
            sizes[head.width, head.height].append((at.timestamp(), one.file.path, ambiguous))
    recordings.extend(_run(size, sorted(stills)) for size, stills in sizes.items())


def _settled(inside: Sequence[Started]) -> list[tuple[datetime, bool]]:
    """(instant, ambiguous) of each picture; one speaks until the next is due."""
    firsts = np.array([one.rounds[0].timestamp() for one in inside])
    distance = frame_distance(np.unique(firsts)) if len(firsts) > 1 else 0.0
    placed = settle(
        [one.rounds for one in inside], [distance if np.isfinite(distance) else 0.0] * len(inside)
    )
    return [(one.start, one.ambiguous) for one in placed]


def _run(size: tuple[int, int], stills: Sequence[Still]) -> Recording:
    times = np.array([at for at, _, _ in stills])
    spans = _spans(times)
    return Recording(
        kind="stills",
        paths=tuple(path for _, path, _ in stills),
        start=datetime.fromtimestamp(times[0], UTC),
        end=datetime.fromtimestamp(times[0] + spans[-1, 1], UTC),
        width=size[0],
        height=size[1],
        codec="jpeg",
        fps=_rate(times),
        key_times=np.zeros(0),
        still_times=times,
        ambiguous=any(unsure for _, _, unsure in stills),
        spans=spans,
    )


def _spans(times: NDArray[np.float64]) -> NDArray[np.float64]:
    """Stretches in seconds since the first picture; two pictures of the same second are one moment."""
    return spans_of(np.unique(times) - times[0])


def _rate(times: NDArray[np.float64]) -> float | None:
    distance = frame_distance(np.unique(times))
    return 1 / distance if np.isfinite(distance) else None
