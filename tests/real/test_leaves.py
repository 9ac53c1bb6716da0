"""Leaves in wind, filmed by a real camera: no dig, and no visitor."""

from __future__ import annotations

from collections.abc import Callable
from itertools import takewhile
from pathlib import Path

import av
import pytest
from av.video.frame import PictureType

from tests.real.yards import watch_clip

SIZE = (320, 240)
HAND_S = 22.0
"""Up to here there is nothing but leaves. Seen by eye, one picture a second: from 23 s to the end a person's
hand comes in from the upper right and waves before the lens."""


@pytest.fixture(scope="module")
def tree(real_footage: Callable[[str], Path]) -> Path:
    return real_footage("tree.avi")


def recorded(clip: Path, path: Path, *, key_s: float) -> Path:
    """The leaves alone, as a recorder would keep them: H.264 with a key frame every `key_s` seconds.

    The clip holds 68 pictures at uneven times (mostly 0.4 s apart), which are kept.
    """
    with av.open(str(clip)) as source, av.open(str(path), "w") as target:
        video = source.streams.video[0]
        stream = target.add_stream("libx264", rate=15, options={"crf": "23", "g": "1000", "bf": "0"})
        stream.width, stream.height, stream.pix_fmt = video.width, video.height, "yuv420p"
        due = 0.0
        for frame in takewhile(lambda frame: frame.time < HAND_S, source.decode(video)):
            plain = av.VideoFrame.from_ndarray(frame.to_ndarray(format="yuv420p"), format="yuv420p")
            plain.pts, plain.time_base = frame.pts, frame.time_base
            plain.pict_type = PictureType.I if frame.time >= due else PictureType.NONE
            due = due + key_s if frame.time >= due else due
            target.mux(stream.encode(plain))
        target.mux(stream.encode(None))
    return path


@pytest.mark.footage
def test_leaves_are_neither_digs_nor_visitors(tmp_path: Path, tree: Path) -> None:
    """The clip as it is: three key frames, 11 s apart, the last before the hand comes."""
    document = watch_clip(tmp_path, tree, SIZE)
    assert document["footage"][0]["seconds_read"] == pytest.approx(29.6, abs=0.5)
    assert document["digs"] == []
    assert document["visitors"] == []


@pytest.mark.footage
@pytest.mark.parametrize("key_s", [1.0, 4.0])
def test_leaves_as_a_recorder_keeps_them(tmp_path: Path, tree: Path, key_s: float) -> None:
    clip = recorded(tree, tmp_path / "leaves.mp4", key_s=key_s)
    document = watch_clip(tmp_path / "site", clip, SIZE)
    assert document["footage"][0]["seconds_read"] == pytest.approx(HAND_S, abs=1.0)
    assert document["digs"] == []
    assert document["visitors"] == []


@pytest.mark.footage
def test_leaves_measured_against_a_small_shell(tmp_path: Path, tree: Path) -> None:
    """Marks that make the shell 6 pixels long: a bunch of leaves is then many shells large."""
    posts = {"a": ((0.0, 0.0), (10.0, 230.0)), "b": ((8.0, 0.0), (310.0, 230.0)),
             "c": ((8.0, 6.0), (310.0, 10.0)), "d": ((0.0, 6.0), (10.0, 10.0))}  # fmt: skip
    clip = recorded(tree, tmp_path / "leaves.mp4", key_s=2.0)
    document = watch_clip(tmp_path / "site", clip, SIZE, posts=posts)
    assert document["digs"] == []
    assert [seen for seen in document["visitors"] if seen["what"] != "smaller animal"] == []
