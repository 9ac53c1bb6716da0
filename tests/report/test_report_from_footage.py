"""Pictures and clip from a real recording on the disk, through footage's own door."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import av
import cv2
import numpy as np
import pytest

from nestwatch.footage import Footage, find_footage
from nestwatch.report import dig_pictures, stay_clip, visitor_picture
from nestwatch.report.frames import window_around
from tests.report.scenes import PARIS, PICTURE, SandReader, a_camera, a_dig, a_visitor, local, some_hours

_SIZE = (480, 270)
_DIG = a_dig("21:05", "21:25", chamber=(420.0, 300.0))


@pytest.fixture(scope="module")
def footage(tmp_path_factory: pytest.TempPathFactory) -> Footage:
    """Half an hour from 21:00, one frame a second, a key frame every 4 s."""
    folder = tmp_path_factory.mktemp("footage été")
    reader = SandReader(_DIG, size=_SIZE, noise=2.0)
    # Noise is the slow part and plays no role here: one frame for each of the three states of the ground.
    moments = (local("21:01"), local("21:06"), local("21:24"), local("21:29"))
    before, early, late, after = (reader.frame(at) for at in moments)
    with av.open(str(folder / "bank_20260612T210000.mp4"), "w") as container:
        stream = container.add_stream("libx264", rate=1, options={"preset": "ultrafast", "crf": "23"})
        stream.width, stream.height, stream.pix_fmt = *_SIZE, "yuv420p"
        stream.codec_context.gop_size = 4
        for second in range(1800):
            minute = second / 60
            shown = before if minute < 5 else early if minute < 15 else late if minute < 25 else after
            container.mux(stream.encode(av.VideoFrame.from_ndarray(shown, format="rgb24")))
        container.mux(stream.encode(None))
    camera = replace(a_camera("sandbank"), footage=folder, stamp="bank_%Y%m%dT%H%M%S")
    return find_footage(camera, some_hours(), "Europe/Paris")


def test_pictures_show_the_ground_the_animal_and_the_changed_ground(footage: Footage, tmp_path: Path) -> None:
    names = dig_pictures(footage, _DIG, PICTURE, tmp_path, "x", zones=a_camera("x").zones)
    assert None not in names.values()
    window = window_around(_DIG, PICTURE, footage.scale, bodies=5.5)
    x, y = (round(each) for each in window.inside(_DIG.body, 480))
    grey = {}
    for name in ("before", "during", "after"):
        data = np.frombuffer((tmp_path / str(names[name])).read_bytes(), np.uint8)
        image = np.asarray(cv2.imdecode(data, cv2.IMREAD_GRAYSCALE))
        grey[name] = float(image[y - 5 : y + 6, x - 5 : x + 6].mean())
    assert grey["during"] < min(grey["before"], grey["after"]) - 40


def test_a_side_that_was_not_recorded_is_null(footage: Footage, tmp_path: Path) -> None:
    dig = replace(_DIG, after_at=local("21:40"))
    names = dig_pictures(footage, dig, PICTURE, tmp_path, "x")
    assert [name for name, path in names.items() if path is None] == ["after"]


def test_clip_covers_what_was_recorded(footage: Footage, tmp_path: Path) -> None:
    path = tmp_path / "clips" / "a.mp4"
    assert stay_clip(footage, _DIG, PICTURE, path, local=PARIS)
    with av.open(str(path)) as container:
        assert 220 <= sum(1 for _ in container.decode(video=0)) <= 228


def test_visitor(footage: Footage, tmp_path: Path) -> None:
    visitor = replace(a_visitor().visitor, start=local("21:10"), end=local("21:12"))
    assert visitor_picture(footage, visitor, PICTURE, tmp_path, "v") == "pictures/v_visitor.jpg"
    late = replace(visitor, start=local("23:10"), end=local("23:10") + timedelta(minutes=1))
    assert visitor_picture(footage, late, PICTURE, tmp_path, "w") is None
