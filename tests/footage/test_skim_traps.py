"""One test per trap measured in docs/footage.md: what the skim sees against a decode from the front."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from pathlib import Path

import av
import cv2
import numpy as np
import pytest

from nestwatch.footage import Footage, Skim, SkimFrame, find_footage
from tests.footage.films import (
    FRAGMENTED,
    HEVC,
    INTRA_REFRESH,
    OPEN_GOP,
    START,
    WIDTH,
    camera,
    even,
    film,
    full_decode,
    key_packets,
    night,
    stamped,
)

KINDS = [
    pytest.param(".mp4", "libx264", None, id="h264-mp4"),
    pytest.param(".mkv", "libx264", None, id="h264-mkv"),
    pytest.param(".avi", "libx264", None, id="h264-avi"),
    pytest.param(".ts", "libx264", None, id="h264-ts"),
    pytest.param(".mov", "libx264", None, id="h264-mov"),
    pytest.param(".mp4", "libx264", OPEN_GOP, id="open-gop-mp4"),
    pytest.param(".mkv", "libx264", OPEN_GOP, id="open-gop-mkv"),
    pytest.param(".ts", "libx264", OPEN_GOP, id="open-gop-ts"),
    pytest.param(".mp4", "libx265", HEVC, id="hevc-mp4"),
    pytest.param(".mkv", "libx265", HEVC, id="hevc-mkv"),
    pytest.param(".ts", "libx265", HEVC, id="hevc-ts"),
    pytest.param(".mp4", "mpeg4", None, id="mpeg4-mp4"),
    pytest.param(".avi", "mpeg4", None, id="mpeg4-avi"),
    pytest.param(".mkv", "mjpeg", None, id="mjpeg-mkv"),
    pytest.param(".avi", "mjpeg", None, id="mjpeg-avi"),
]


def found(folder: Path) -> Footage:
    return find_footage(camera(folder), night(), "UTC")


def seconds(frames: list[SkimFrame]) -> list[float]:
    return [frame.at - START.timestamp() for frame in frames]


@pytest.mark.parametrize(("ending", "codec", "options"), KINDS)
def test_every_key_frame_is_bit_identical_to_a_full_decode(
    tmp_path: Path,
    outside_tool: Callable[[str], str],
    ending: str,
    codec: str,
    options: dict[str, str] | None,
) -> None:
    path = film(stamped(tmp_path, ending=ending), even(12), codec=codec, options=options)
    skim = Skim(found(tmp_path), every_s=0.01, width=WIDTH, exact=True)
    skimmed = list(skim)
    assert skim.account().unreadable == ()
    keys = {round(time, 2): luma for time, luma, key in full_decode(path).values() if key}
    assert len(skimmed) == len(keys) == key_packets(path) == ffprobe_keys(outside_tool("ffprobe"), path)
    for frame, time in zip(skimmed, seconds(skimmed), strict=True):
        nearest = min(keys, key=lambda key, time=time: abs(key - time))  # type: ignore[misc]
        assert abs(nearest - time) < 0.02
        np.testing.assert_array_equal(frame.luma, keys[nearest])


def ffprobe_keys(ffprobe: str, path: Path) -> int:
    """Key frames by FFmpeg's own tool, which decodes everything."""
    command = [ffprobe, "-v", "error", "-select_streams", "v:0", "-show_frames"]
    command += ["-show_entries", "frame=key_frame", "-of", "json", str(path)]
    told = json.loads(subprocess.run(command, capture_output=True, check=True, text=True).stdout)
    return sum(int(frame["key_frame"]) for frame in told["frames"])


@pytest.mark.parametrize("ending", [".mp4", ".mkv", ".ts"])
def test_intra_refresh_falls_back_to_decoding_and_shows_the_true_picture(tmp_path: Path, ending: str) -> None:
    path = film(stamped(tmp_path, ending=ending), even(12), options=INTRA_REFRESH)
    whole = full_decode(path)
    assert sum(key for _, _, key in whole.values()) < key_packets(path), "the film holds no trap"
    skimmed = list(Skim(found(tmp_path), every_s=2.0, width=WIDTH, exact=True))
    assert seconds(skimmed) == pytest.approx([0, 2, 4, 6, 8, 10], abs=0.07)
    for frame, time in zip(skimmed, seconds(skimmed), strict=True):
        luma = next(luma for told, luma, _ in whole.values() if abs(told - time) < 0.01)
        np.testing.assert_array_equal(frame.luma, luma)


@pytest.mark.parametrize("ending", [".mp4", ".mkv", ".ts"])
def test_a_pause_of_ten_minutes_keeps_the_time_right(tmp_path: Path, ending: str) -> None:
    times = [index / 15 + (600 if index >= 90 else 0) for index in range(180)]
    film(stamped(tmp_path, ending=ending), times)
    footage = find_footage(camera(tmp_path), night(after_s=700), "UTC")
    skim = Skim(footage, every_s=2.0)
    assert seconds(list(skim)) == pytest.approx([0, 2, 4, 606, 608, 610], abs=0.01)
    account = skim.account()
    assert account.seconds_read == pytest.approx(12, abs=0.3)
    assert "timestamps jump" in account.gaps[1].why
    assert (account.gaps[1].end - account.gaps[1].start).total_seconds() == pytest.approx(600, abs=0.2)


@pytest.mark.parametrize("ending", [".mp4", ".mkv", ".ts"])
def test_long_key_distance_is_no_gap(tmp_path: Path, ending: str) -> None:
    film(stamped(tmp_path, ending=ending), even(48, fps=5), fps=5, key_every=80)  # 16 s
    skim = Skim(found(tmp_path), every_s=4.0)
    shown = list(skim)
    assert seconds(shown) == pytest.approx([0, 16, 32], abs=0.01)
    assert skim.account().seconds_read == pytest.approx(48, abs=0.3)
    assert [frame.shown_s for frame in shown] == pytest.approx([16, 16, 16], abs=0.3)


def test_a_single_key_frame_is_decoded_on(tmp_path: Path) -> None:
    film(stamped(tmp_path), even(60, fps=5), fps=5, key_every=100000)
    assert seconds(list(Skim(found(tmp_path), every_s=4.0))) == pytest.approx(np.arange(0, 60, 4), abs=0.21)


def test_motion_jpeg_is_thinned(tmp_path: Path) -> None:
    film(stamped(tmp_path, ending=".avi"), even(20), codec="mjpeg")
    assert seconds(list(Skim(found(tmp_path), every_s=4.0))) == pytest.approx(
        [0, 4, 8, 12, 16, 19.93], abs=0.01
    )


def test_first_timestamp_of_a_transport_stream_is_not_counted(tmp_path: Path) -> None:
    film(stamped(tmp_path, ending=".ts"), [5 + time for time in even(6)])
    footage = found(tmp_path)
    assert footage.recordings[0].offset_s >= 5.0, "the film holds no trap"
    assert seconds(list(Skim(footage, every_s=2.0)))[0] == pytest.approx(0.0, abs=0.001)


def test_fragmented_mp4_without_a_complete_index(tmp_path: Path) -> None:
    film(stamped(tmp_path), even(12), container=FRAGMENTED)
    assert seconds(list(Skim(found(tmp_path), every_s=2.0))) == pytest.approx([0, 2, 4, 6, 8, 10], abs=0.01)


def test_luma_is_area_reduced_and_chroma_measured(tmp_path: Path) -> None:
    path = film(stamped(tmp_path), even(4), chroma=(110, 150))
    frame = next(iter(Skim(found(tmp_path), width=40, exact=True)))
    luma = full_decode(path)[0][1]
    assert frame.luma.shape == (30, 40)
    expected = luma.reshape(30, 4, 40, 4).mean(axis=(1, 3))  # a mean over 4 x 4 pixels, worked in numpy
    assert np.abs(frame.luma - expected).max() <= 0.5
    assert frame.chroma == pytest.approx((18 + 22) / 2, abs=1.0)


def test_never_enlarged(tmp_path: Path) -> None:
    film(stamped(tmp_path), even(2))
    assert next(iter(Skim(found(tmp_path), width=4000))).luma.shape == (120, 160)


def test_leaving_out_the_deblocking_filter_changes_little(tmp_path: Path) -> None:
    """Mean difference measured elsewhere on an infrared night: 0.35 levels. Here x264 at a low rate."""
    options = {"preset": "fast", "x264-params": "keyint=30:scenecut=0:bframes=0:crf=38"}
    film(stamped(tmp_path), even(6), options=options)
    footage = found(tmp_path)
    exact = next(iter(Skim(footage, width=WIDTH, exact=True))).luma.astype(float)
    quick = next(iter(Skim(footage, width=WIDTH))).luma.astype(float)
    assert 0 < np.abs(exact - quick).mean() < 4, "the filter was not left out, or much more was"


def test_ten_bit_video_gives_eight_bit_luma(tmp_path: Path) -> None:
    eight = film(stamped(tmp_path / "a"), even(2))
    ten = stamped(tmp_path / "b", ending=".mkv")
    ten.parent.mkdir()
    options = {"crf": "1", "x264-params": "keyint=30"}
    with av.open(str(eight)) as source, av.open(str(ten), "w") as target:
        stream = target.add_stream("libx264", rate=15, options=options)
        stream.width, stream.height, stream.pix_fmt = 160, 120, "yuv420p10le"
        for frame in source.decode(video=0):
            target.mux(stream.encode(frame.reformat(format="yuv420p10le")))
        target.mux(stream.encode(None))
    luma = next(iter(Skim(found(tmp_path / "b"), width=WIDTH, exact=True))).luma
    assert luma.dtype == np.uint8
    assert np.abs(luma.astype(int) - full_decode(eight)[0][1]).mean() < 2.0


def test_account_is_refused_before_the_end(tmp_path: Path) -> None:
    film(stamped(tmp_path), even(2))
    with pytest.raises(RuntimeError, match="run to its end"):
        Skim(found(tmp_path)).account()


def test_nothing_is_written_to_stdout(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    film(stamped(tmp_path), even(4))
    stamped(tmp_path, ending=".ts").write_bytes(b"\x47" + b"junk" * 400)
    list(Skim(found(tmp_path)))
    assert capfd.readouterr().out == ""


def test_resizing_agrees_with_opencv_area_means(tmp_path: Path) -> None:
    path = film(stamped(tmp_path), even(2))
    luma = full_decode(path)[0][1]
    frame = next(iter(Skim(found(tmp_path), width=96, exact=True)))
    np.testing.assert_array_equal(frame.luma, cv2.resize(luma, (96, 72), interpolation=cv2.INTER_AREA))
