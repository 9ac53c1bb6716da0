"""Short stretches at a high rate, and pictures nearest to an instant, against a decode from the front."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import av
import numpy as np
import pytest

from nestwatch.footage import Footage, find_footage, read_burst, read_pictures
from tests.footage.films import (
    HEIGHT,
    HEVC,
    INTRA_REFRESH,
    OPEN_GOP,
    START,
    WIDTH,
    camera,
    even,
    film,
    full_decode,
    night,
    stamped,
)

KINDS = [
    pytest.param(".mp4", "libx264", None, id="h264-mp4"),
    pytest.param(".mkv", "libx264", OPEN_GOP, id="open-gop-mkv"),
    pytest.param(".mp4", "libx264", OPEN_GOP, id="open-gop-mp4"),
    pytest.param(".ts", "libx264", OPEN_GOP, id="open-gop-ts"),
    pytest.param(".mkv", "libx264", INTRA_REFRESH, id="intra-refresh-mkv"),
    pytest.param(".ts", "libx265", HEVC, id="hevc-ts"),
    pytest.param(".avi", "mpeg4", None, id="mpeg4-avi"),
    pytest.param(".avi", "mjpeg", None, id="mjpeg-avi"),
]


def found(folder: Path) -> Footage:
    return find_footage(camera(folder), night(), "UTC")


def after(seconds: float) -> timedelta:
    return timedelta(seconds=seconds)


@pytest.mark.parametrize(("ending", "codec", "options"), KINDS)
def test_burst_holds_every_frame_bit_for_bit(
    tmp_path: Path, ending: str, codec: str, options: dict[str, str] | None
) -> None:
    path = film(stamped(tmp_path, ending=ending), even(12), codec=codec, options=options)
    burst = read_burst(found(tmp_path), START + after(5), 2.0, fps=15)
    whole = [(time, luma, key) for time, luma, key in full_decode(path).values() if 4.99 < time < 6.99]
    whole.sort(key=lambda frame: frame[0])
    assert burst.times - START.timestamp() == pytest.approx([time for time, _, _ in whole], abs=0.002)
    assert len(burst.times) == 30
    np.testing.assert_array_equal(burst.luma, np.stack([luma for _, luma, _ in whole]))
    assert burst.key.tolist() == [key for _, _, key in whole]


def test_burst_of_an_intra_refresh_stream_goes_back_to_where_it_recovers(tmp_path: Path) -> None:
    path = film(stamped(tmp_path, ending=".mkv"), even(12), options=INTRA_REFRESH)
    whole = {round(time, 2): luma for time, luma, _ in full_decode(path).values()}
    burst = read_burst(found(tmp_path), START + after(6.2), 1.0, fps=15)
    assert burst.times[0] - START.timestamp() == pytest.approx(6.2, abs=0.002)
    np.testing.assert_array_equal(burst.luma[0], whole[6.2])


def test_box_rate_and_scale(tmp_path: Path) -> None:
    path = film(stamped(tmp_path), even(12))
    burst = read_burst(found(tmp_path), START + after(4), 4.0, fps=5, box=(20, 10, 100, 70), width_scale=2.0)
    assert burst.luma.shape == (20, 30, 40)
    assert burst.origin == (20, 10)
    assert burst.scale == 2.0
    assert np.diff(burst.times) == pytest.approx(np.full(19, 0.2), abs=0.002)
    whole = {round(time, 2): luma for time, luma, _ in full_decode(path).values()}
    expected = whole[4.0][10:70, 20:100].reshape(30, 2, 40, 2).mean(axis=(1, 3))
    assert np.abs(burst.luma[0] - expected).max() <= 0.5


def test_box_is_cut_to_the_picture(tmp_path: Path) -> None:
    film(stamped(tmp_path), even(4))
    burst = read_burst(found(tmp_path), START, 1.0, fps=5, box=(-30, -10, 50, 500))
    assert burst.origin == (0, 0)
    assert burst.luma.shape[1:] == (HEIGHT, 50)


def test_box_outside_the_picture_is_refused(tmp_path: Path) -> None:
    film(stamped(tmp_path), even(4))
    with pytest.raises(ValueError, match="has no area inside the picture of 160x120"):
        read_burst(found(tmp_path), START, 1.0, fps=5, box=(200, 0, 300, 50))


def test_burst_across_a_join_and_into_a_gap(tmp_path: Path) -> None:
    film(stamped(tmp_path), even(8))
    film(stamped(tmp_path, START + after(8)), even(8))
    footage = found(tmp_path)
    across = read_burst(footage, START + after(6), 4.0, fps=15)
    assert len(across.times) == 60
    assert np.diff(across.times) == pytest.approx(np.full(59, 1 / 15), abs=0.002)
    assert len(read_burst(footage, START + after(15), 4.0, fps=15).times) == 15
    nothing = read_burst(footage, START + after(100), 4.0, fps=15, width_scale=2.0)
    assert nothing.times.shape == (0,)
    assert nothing.luma.shape == (0, 60, 80)


@pytest.mark.parametrize(("ending", "codec", "options"), KINDS)
def test_picture_is_the_nearest_key_frame(
    tmp_path: Path, ending: str, codec: str, options: dict[str, str] | None
) -> None:
    path = film(stamped(tmp_path, ending=ending), even(12), codec=codec, options=options)
    wanted = [9.88, 0.28, 5.8]
    shown = list(read_pictures(found(tmp_path), [START + after(second) for second in wanted]))
    whole = list(full_decode(path).values())
    usable = whole if options is INTRA_REFRESH else [frame for frame in whole if frame[2]]
    for second, rgb in zip(wanted, shown, strict=True):
        assert rgb is not None
        luma = min(usable, key=lambda frame, second=second: abs(frame[0] - second))[1]  # type: ignore[misc]
        assert rgb.shape == (HEIGHT, WIDTH, 3)
        # grey footage: R = G = B = (Y - 16) * 255 / 219, ITU-R BT.601 limited range; Motion JPEG: full
        grey = luma.astype(float) if codec == "mjpeg" else (luma.astype(float) - 16) * 255 / 219
        assert np.abs(rgb - np.clip(grey, 0, 255)[..., None]).max() <= 3


def test_pictures_reach_no_further_than_asked(tmp_path: Path) -> None:
    film(stamped(tmp_path), even(12))
    footage = found(tmp_path)
    times = [START - after(20), START - after(40), START + after(25), START + after(60)]
    near = [shown is not None for shown in read_pictures(footage, times, reach_s=30.0)]
    assert near == [True, False, True, False]


def test_pictures_are_reduced_never_enlarged(tmp_path: Path) -> None:
    film(stamped(tmp_path), even(4))
    footage = found(tmp_path)
    (small,) = read_pictures(footage, [START], width=80)
    (large,) = read_pictures(footage, [START], width=8000)
    assert small is not None
    assert large is not None
    assert small.shape == (60, 80, 3)
    assert large.shape == (HEIGHT, WIDTH, 3)


def test_pictures_of_a_long_stretch_without_key_frames(tmp_path: Path) -> None:
    path = film(stamped(tmp_path), even(120, fps=5), fps=5, key_every=100000)
    (rgb,) = read_pictures(found(tmp_path), [START + after(90)])
    assert rgb is not None
    luma = next(luma for time, luma, _ in full_decode(path).values() if abs(time - 90) < 0.01)
    assert np.abs(rgb[..., 1] - np.clip((luma.astype(float) - 16) * 255 / 219, 0, 255)).max() <= 3


def test_a_clip_opens_each_file_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    film(stamped(tmp_path), even(12))
    footage = found(tmp_path)
    opened: list[str] = []
    real_open = av.open

    def spy(file: str, *args: object, **kwargs: object) -> object:
        opened.append(file)
        return real_open(file, *args, **kwargs)  # type: ignore[call-overload]

    monkeypatch.setattr(av, "open", spy)
    shown = list(read_pictures(footage, [START + after(step / 5) for step in range(50)], width=80))
    assert len(shown) == 50
    assert all(one is not None for one in shown)
    assert len(opened) == 1
