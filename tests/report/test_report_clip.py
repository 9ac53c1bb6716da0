"""The time-lapse, read back with PyAV: short, small, plays in a browser, nothing of the animal covered."""

from __future__ import annotations

import struct
from datetime import timedelta
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from nestwatch.errors import OutputError
from nestwatch.report import stay_clip
from nestwatch.report.frames import window_around
from tests.report.scenes import PARIS, PICTURE, SandReader, a_dig, local, some_footage

SMALL = (640, 360)


def _boxes(path: Path) -> list[str]:
    """The top-level boxes of an mp4 file (ISO/IEC 14496-12, 4.2: size, then type)."""
    data, at, names = path.read_bytes(), 0, []
    while at < len(data):
        size, name = struct.unpack(">I4s", data[at : at + 8])
        names.append(name.decode("ascii"))
        at += size
    return names


def _frames(path: Path) -> list[NDArray[np.uint8]]:
    with av.open(str(path)) as container:
        return [np.asarray(frame.to_ndarray(format="gray"), np.uint8) for frame in container.decode(video=0)]


@pytest.fixture(scope="module")
def clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The hardest case for size: six hours under strong noise."""
    path = tmp_path_factory.mktemp("nuit d'été") / "clips" / "a.mp4"
    dig = a_dig("20:00", "02:00")
    reader = SandReader(dig, size=SMALL, noise=25.0)
    assert stay_clip(some_footage(path.parent, size=SMALL), dig, PICTURE, path, local=PARIS, read=reader)
    return path


def test_plays_in_a_browser(clip: Path) -> None:
    with av.open(str(clip)) as container:
        stream = container.streams.video[0]
        assert stream.codec_context.name == "h264"
        assert stream.codec_context.pix_fmt == "yuv420p"
        assert (stream.width % 2, stream.height % 2) == (0, 0)
    boxes = _boxes(clip)
    assert boxes.index("moov") < boxes.index("mdat")


def test_is_short_and_small(clip: Path) -> None:
    with av.open(str(clip)) as container:
        assert container.duration is not None
        seconds = container.duration / av.time_base
    assert 15 < seconds <= 20
    assert clip.stat().st_size <= 1_000_000
    assert [path.name for path in clip.parent.iterdir()] == ["a.mp4"]


def test_shows_the_ground_before_the_animal_and_the_ground_after(clip: Path) -> None:
    frames = _frames(clip)
    dig = a_dig()
    window = window_around(dig, PICTURE, some_footage(clip, size=SMALL).scale, bodies=8)
    x, y = (round(each) for each in window.inside(dig.body, 480))
    body = [float(frame[y - 8 : y + 9, x - 8 : x + 9].mean()) for frame in frames]
    assert body[len(body) // 2] < min(body[0], body[-1]) - 40


def test_time_stands_in_a_strip_below_the_picture(clip: Path) -> None:
    frame = _frames(clip)[0]
    assert frame.shape == (520, 480)
    strip = frame[486:]
    assert strip.max() > 180  # the writing
    assert np.median(strip) < 40


def test_asks_from_three_minutes_before_to_three_minutes_after(tmp_path: Path) -> None:
    dig = a_dig("21:00", "21:12")
    reader = SandReader(dig, size=SMALL)
    stay_clip(some_footage(tmp_path, size=SMALL), dig, PICTURE, tmp_path / "a.mp4", local=PARIS, read=reader)
    assert min(reader.asked) == local("20:57")
    assert max(reader.asked) == local("21:15")
    assert len(_frames(tmp_path / "a.mp4")) == len(reader.asked) - 9 <= 20 * 12


def test_gaps_are_left_out(tmp_path: Path) -> None:
    dig = a_dig("21:00", "21:03")
    footage = some_footage(tmp_path, size=SMALL)
    whole, holed = tmp_path / "a.mp4", tmp_path / "b.mp4"
    gap = [(local("21:01"), local("21:05:30"))]
    assert stay_clip(footage, dig, PICTURE, whole, local=PARIS, read=SandReader(dig, size=SMALL))
    assert stay_clip(footage, dig, PICTURE, holed, local=PARIS, read=SandReader(dig, size=SMALL, missing=gap))
    assert len(_frames(holed)) == pytest.approx(len(_frames(whole)) / 2, abs=2)


def test_nothing_readable_writes_nothing(tmp_path: Path) -> None:
    dig = a_dig()
    night = [(dig.start - timedelta(hours=5), dig.end + timedelta(hours=5))]
    reader = SandReader(dig, size=SMALL, missing=night)
    path = tmp_path / "clips" / "a.mp4"
    assert not stay_clip(some_footage(tmp_path), dig, PICTURE, path, local=PARIS, read=reader)
    assert not path.parent.exists()


def test_a_failed_write_leaves_the_earlier_clip(tmp_path: Path) -> None:
    dig = a_dig("21:00", "21:05")
    path = tmp_path / "a.mp4"
    path.write_bytes(b"earlier")

    class Broken(SandReader):
        def frame(self, at: object) -> NDArray[np.uint8]:
            if len(self.asked) > 30:
                raise KeyboardInterrupt
            return np.zeros((360, 640, 3), np.uint8)

    with pytest.raises(KeyboardInterrupt):
        stay_clip(
            some_footage(tmp_path, size=SMALL), dig, PICTURE, path, local=PARIS, read=Broken(dig, size=SMALL)
        )
    assert [each.name for each in tmp_path.iterdir()] == ["a.mp4"]
    assert path.read_bytes() == b"earlier"


def test_a_file_in_the_way_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "clips").write_text("a file")
    dig = a_dig("21:00", "21:05")
    with pytest.raises(OutputError, match=r"cannot write .*a\.mp4"):
        stay_clip(
            some_footage(tmp_path, size=SMALL),
            dig,
            PICTURE,
            tmp_path / "clips" / "a.mp4",
            local=PARIS,
            read=SandReader(dig, size=SMALL),
        )
