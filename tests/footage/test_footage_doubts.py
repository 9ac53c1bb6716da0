"""Doubts about footage before a night is watched: uncovered nesting hours, and clocks that disagree."""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from zoneinfo import ZoneInfo

import av
import numpy as np
import pytest

from nestwatch.footage.doubts import Lag, cameras_disagree, clock_doubts, lag_of, unrecorded
from nestwatch.footage.records import Footage
from tests.footage.recordings import found_recording

PARIS = ZoneInfo("Europe/Paris")
START = datetime(2026, 6, 12, 19, 15, tzinfo=UTC)  # 21:15 in Paris
LATER = datetime(2026, 7, 1, tzinfo=UTC)


def film(path: Path, created: str | None) -> Path:
    """Two black pictures in an MP4 that says when it was made."""
    with av.open(str(path), "w") as out:
        if created:
            out.metadata["creation_time"] = created
        stream = out.add_stream("libx264", rate=Fraction(1))
        stream.width = stream.height = 64
        for _ in range(2):
            frame = av.VideoFrame.from_ndarray(np.zeros((96, 64), np.uint8), format="yuv420p")
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    return path


def footage(path: Path, *, minutes: float = 60, start: datetime = START) -> Footage:
    recording = found_recording(path, start, seconds=minutes * 60, size=(64, 64), fps=1.0)
    whole = (START - timedelta(hours=5), START + timedelta(hours=12))
    return Footage("sandbank", path.parent, *whole, (recording,), (), (), 64, 64, (1.0, 1.0))


def told(found: Footage, now: datetime = LATER) -> list[str]:
    return list(clock_doubts(found, PARIS, now))


@pytest.mark.parametrize(
    "created",
    [
        pytest.param("2026-06-12T19:15:00Z", id="its beginning, UTC"),
        pytest.param("2026-06-12T20:15:30Z", id="its closing, UTC"),
        pytest.param("2026-06-12T21:16:00Z", id="local time written as UTC"),
        pytest.param("1970-01-01T00:00:00Z", id="a recorder that knows no time"),
        pytest.param(None, id="nothing"),
    ],
)
def test_a_time_inside_the_file_that_agrees(tmp_path: Path, created: str | None) -> None:
    assert told(footage(film(tmp_path / "a.mp4", created))) == []


@pytest.mark.parametrize(
    ("created", "words"),
    [("2026-06-12T18:50:00Z", "25 min earlier"), ("2026-06-12T20:30:00Z", "15 min later")],
)
def test_a_time_inside_the_file_that_does_not(tmp_path: Path, created: str, words: str) -> None:
    """The file runs from 19:15 to 20:15 UTC by its name."""
    (doubt,) = told(footage(film(tmp_path / "a.mp4", created)))
    assert f"a.mp4: the time written inside the file is {words} than its name says" in doubt


def test_a_recording_that_ends_in_the_future(tmp_path: Path) -> None:
    now = START + timedelta(minutes=30)
    (doubt,) = told(footage(film(tmp_path / "a.mp4", None)), now)
    assert "would end in 30 min from now: the camera's clock is ahead" in doubt
    assert told(footage(film(tmp_path / "a.mp4", None)), START + timedelta(minutes=59)) == []


def test_uncovered_nesting_hours(tmp_path: Path) -> None:
    nesting = START - timedelta(minutes=15), START + timedelta(minutes=60, seconds=30)
    found = footage(film(tmp_path / "a.mp4", None))
    assert unrecorded(found, nesting) == [(START - timedelta(minutes=15), START)]
    assert unrecorded(replace(found, recordings=()), nesting) == [nesting]


def test_the_disks_time_beside_the_stamps(tmp_path: Path) -> None:
    found = footage(film(tmp_path / "a.mp4", None))
    end = START + timedelta(minutes=60)
    os.utime(tmp_path / "a.mp4", (end.timestamp() + 90,) * 2)
    lag = lag_of(found)
    assert lag is not None
    assert lag.late == timedelta(seconds=90)
    os.utime(tmp_path / "a.mp4", (end.timestamp() + 7 * 3600,) * 2)
    assert lag_of(found) is None, "copied in the morning: says nothing of the camera"
    (tmp_path / "a.mp4").unlink()
    assert lag_of(found) is None


def test_two_cameras_beside_each_other() -> None:
    """One file written 1 min after its end, the other 18 min after: the first's clock is 17 min ahead."""
    one, other = Lag("sandbank", timedelta(minutes=1)), Lag("pond", timedelta(minutes=18))
    said = cameras_disagree([one, other])
    assert said is not None
    assert 'the clock of camera "sandbank" seems 17 min ahead of that of "pond"' in said
    assert cameras_disagree([one]) is None
    assert cameras_disagree([one, Lag("pond", timedelta(minutes=2))]) is None
