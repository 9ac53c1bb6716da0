"""The speed script: its recording, its yardsticks and its words (the numbers themselves gate nothing)."""

from __future__ import annotations

import tomllib
from pathlib import Path

import av
import numpy as np
import pytest

from bench import decode, recording
from bench.speed import Run, about_cost, about_growth


@pytest.fixture
def short_clip(tmp_path: Path) -> Path:
    """Eight seconds of noise at 5 fps with a key frame every 2 s."""
    path, rng = tmp_path / "clip.mp4", np.random.default_rng(7)
    with av.open(path, "w") as out:
        stream = out.add_stream("libx264", rate=5, options={"bf": "0", "sc_threshold": "0"})
        stream.width, stream.height, stream.pix_fmt, stream.gop_size = 96, 64, "yuv420p", 10
        for _ in range(40):
            picture = rng.integers(60, 90, (96, 96), np.uint8)
            out.mux(stream.encode(av.VideoFrame.from_ndarray(picture, format="yuv420p")))
        out.mux(stream.encode(None))
    return path


def test_joining_packets_makes_a_longer_recording_of_the_same_pictures(
    short_clip: Path, tmp_path: Path
) -> None:
    recording.join([short_clip] * 3, tmp_path / "long.mp4")
    with av.open(tmp_path / "long.mp4") as container:
        frames = list(container.decode(video=0))
    times = [frame.time for frame in frames]
    assert np.diff(np.array(times, float)) == pytest.approx(0.2)
    assert np.array_equal(frames[5].to_ndarray(), frames[45].to_ndarray())
    assert recording.seconds(tmp_path / "long.mp4") == pytest.approx(24, abs=0.05)


def test_the_yardsticks_see_every_frame_they_should(short_clip: Path) -> None:
    # Key frames stand at 0, 2, 4, 6 s; one every 4 s is wanted: 0 and 4. Eight seconds are 40 frames.
    assert decode.keys(short_clip) == 2
    assert decode.mog2(short_clip) == 40


def test_the_night_is_as_long_as_asked(short_clip: Path, tmp_path: Path) -> None:
    site = tomllib.loads(recording.night(tmp_path, short_clip, hours=9).read_text(encoding="utf-8"))
    assert site["site"]["night"] == ["18:00", "03:00"]
    names = sorted(path.name for path in (tmp_path / "night-9h" / "footage").iterdir())
    assert len(names) == 9
    assert names[-1] == "bank_20260613T020000.mp4"


@pytest.mark.parametrize(
    ("cpu_s", "candidates", "words"),
    [(25.0, 0, ["reached", "reached"]), (26.0, 0, ["MISSED", "MISSED"]), (45.0, 1, ["reached", "MISSED"])],
)
def test_what_is_missed_is_said(cpu_s: float, candidates: int, words: list[str]) -> None:
    # 20 CPU s of key frames allow 25 and 20 more per candidate; 1125 of MOG2 are 45 times 25.
    lines = about_cost(20.0, 1125.0, Run(1, cpu_s, 500, candidates))
    assert [line.rsplit(": ", 1)[1] for line in lines[-2:]] == words


def test_growth_is_that_of_an_hour() -> None:
    lines = about_growth([Run(1, 20, 300, 0), Run(14, 14 * 24, 1100, 0)])
    assert lines[-2].endswith("MISSED")
    assert "costs 1.20 times" in lines[-1]
    assert lines[-1].endswith("MISSED")
