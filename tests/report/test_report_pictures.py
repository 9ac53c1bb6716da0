"""Pictures of a dig: the same ground three times, noise averaged away, the right spot marked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from nestwatch.errors import OutputError
from nestwatch.footage.records import Footage
from nestwatch.nesting.records import Dig
from nestwatch.report import dig_pictures, visitor_picture
from nestwatch.report.frames import cut, levels_of, marked, stretched, window_around
from tests.report.scenes import PICTURE, SandReader, a_camera, a_dig, a_visitor, some_footage


def _read(folder: Path, name: str | None) -> NDArray[np.uint8]:
    assert name is not None
    data = np.frombuffer((folder / name).read_bytes(), np.uint8)
    return np.asarray(cv2.imdecode(data, cv2.IMREAD_GRAYSCALE), np.uint8)


class Flat:
    """Frames of one grey level, black while the dig lasts, with a bright fly in one frame of each side."""

    def __init__(self, dig: Dig) -> None:
        self.dig, self.flown = dig, 0

    def __call__(
        self, footage: Footage, times: Sequence[datetime], *, width: int | None = None, reach_s: float = 30.0
    ) -> Iterator[NDArray[np.uint8] | None]:
        for index, at in enumerate(times):
            frame = np.full((540, 960, 3), 100, np.uint8)
            if self.dig.start <= at < self.dig.end:
                frame[:] = 20
            elif index in (1, 8):
                frame[300:500, 400:700] = 250
                self.flown += 1
            yield frame


@pytest.mark.parametrize("size", [(1920, 1080), (640, 360)])
def test_four_pictures_of_the_right_size(tmp_path: Path, size: tuple[int, int]) -> None:
    dig = a_dig()
    reader = SandReader(dig, size=size)
    footage = some_footage(tmp_path, size=size)
    names = dig_pictures(footage, dig, PICTURE, tmp_path, "x", zones=a_camera("x").zones, read=reader)
    assert names == {name: f"pictures/x_{name}.jpg" for name in ("before", "during", "after", "overview")}
    for name in ("before", "during", "after"):
        assert _read(tmp_path, names[name]).shape == (480, 480)
    overview = _read(tmp_path, names["overview"])
    assert overview.shape == (540, 960)


def test_frames_are_asked_for_in_order_and_around_both_sides(tmp_path: Path) -> None:
    dig = a_dig()
    reader = SandReader(dig, size=(640, 360))
    dig_pictures(some_footage(tmp_path, size=(640, 360)), dig, PICTURE, tmp_path, "x", read=reader)
    assert reader.asked == sorted(reader.asked)
    assert len(reader.asked) == 11
    assert dig.before_at is not None
    assert reader.asked[0] == dig.before_at - timedelta(seconds=40)
    assert dig.during_at in reader.asked


def test_a_fly_in_one_frame_is_gone(tmp_path: Path) -> None:
    dig = a_dig()
    flat = Flat(dig)
    footage = some_footage(tmp_path, size=(960, 540))
    names = dig_pictures(footage, dig, PICTURE, tmp_path, "x", read=flat)
    assert flat.flown == 2
    for name in ("before", "after"):
        image = _read(tmp_path, names[name])
        assert np.ptp(image[:100].astype(int)) < 8


def test_all_three_share_one_contrast(tmp_path: Path) -> None:
    dig = a_dig()
    names = dig_pictures(some_footage(tmp_path, size=(960, 540)), dig, PICTURE, tmp_path, "x", read=Flat(dig))
    corner = {name: int(_read(tmp_path, names[name])[0, 0]) for name in ("before", "during", "after")}
    assert corner["before"] == pytest.approx(corner["after"], abs=2)
    assert corner["before"] > 240
    assert corner["during"] < 15


def test_day_and_infrared_are_not_stretched_as_one(tmp_path: Path) -> None:
    dig = a_dig()

    def dusk(
        footage: Footage, times: Sequence[datetime], *, width: int | None = None, reach_s: float = 30.0
    ) -> Iterator[NDArray[np.uint8] | None]:
        """Dim brown by day before, bright grey infrared from the start of the stay on."""
        ramp = np.linspace(0, 30, 960, dtype=np.uint8)[None, :, None].repeat(540, axis=0)
        for at in times:
            colour = (60, 45, 30) if at < dig.start else (150, 150, 150)
            yield np.asarray(ramp + np.array(colour, np.uint8), np.uint8)

    names = dig_pictures(some_footage(tmp_path, size=(960, 540)), dig, PICTURE, tmp_path, "x", read=dusk)
    for name in ("before", "during", "after"):
        assert np.ptp(_read(tmp_path, names[name])[:100].astype(int)) > 40, name


def test_a_burned_in_clock_does_not_darken_the_soil() -> None:
    soil = np.random.default_rng(3).integers(60, 100, (480, 480, 1), np.uint8).repeat(3, axis=2)
    soil[:10, :380] = 255  # 1.65 % of the picture
    assert np.median(stretched(soil, levels_of([soil]))) > 110


def test_a_side_without_instant_or_frame_is_null(tmp_path: Path) -> None:
    dig = replace(a_dig(), before_at=None)
    reader = SandReader(dig, size=(640, 360), missing=[(dig.end, dig.end + timedelta(hours=1))])
    names = dig_pictures(some_footage(tmp_path, size=(640, 360)), dig, PICTURE, tmp_path, "x", read=reader)
    assert [name for name, path in names.items() if path is None] == ["before", "after"]
    assert sorted(path.name for path in (tmp_path / "pictures").iterdir()) == [
        "x_during.jpg",
        "x_overview.jpg",
    ]


def test_nothing_readable_is_all_null_and_writes_nothing(tmp_path: Path) -> None:
    dig = a_dig()
    all_night = [(dig.start - timedelta(hours=9), dig.end + timedelta(hours=9))]
    reader = SandReader(dig, size=(640, 360), missing=all_night)
    names = dig_pictures(some_footage(tmp_path, size=(640, 360)), dig, PICTURE, tmp_path, "x", read=reader)
    assert set(names.values()) == {None}
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("size", [(1920, 1080), (960, 540), (704, 576)])
@pytest.mark.parametrize("chamber", [(531.0, 424.0), (3.0, 5.0), (958.0, 538.0)])
def test_the_mark_stands_where_the_chamber_is(size: tuple[int, int], chamber: tuple[float, float]) -> None:
    # 704 x 576 is anamorphic against 960 x 540: both directions must be scaled apart.
    dig = a_dig(chamber=chamber)
    frame = np.zeros((size[1], size[0], 3), np.uint8)
    at = (chamber[0] * size[0] / PICTURE[0], chamber[1] * size[1] / PICTURE[1])
    cv2.circle(frame, (round(at[0]), round(at[1])), 2, (255, 255, 255), -1)
    scale = (size[0] / PICTURE[0], size[1] / PICTURE[1])
    window = window_around(dig, PICTURE, scale, bodies=5.5)
    image = cut(frame, window, PICTURE, 480)
    rows, columns = np.nonzero(image[:, :, 0] > 100)
    place = window.inside(dig.chamber, 480)
    zoom = 480 / (window.side * min(scale))
    assert columns.mean() == pytest.approx(place[0], abs=2 * zoom)
    assert rows.mean() == pytest.approx(place[1], abs=2 * zoom)


@pytest.mark.parametrize(("shell", "side"), [(48.0, 264.0), (10.0, 160.0), (400.0, 540.0)])
def test_window_is_five_and_a_half_bodies_but_never_tiny_nor_beyond_the_picture(
    shell: float, side: float
) -> None:
    dig = replace(a_dig(), shell_length_px=shell)
    window = window_around(dig, PICTURE, (1.0, 1.0), bodies=5.5)
    assert window.side == side
    assert 0 <= window.left <= PICTURE[0] - side
    assert 0 <= window.top <= PICTURE[1] - side


def test_window_without_a_measured_shell_uses_the_distance_of_the_chamber() -> None:
    dig = replace(a_dig(), shell_length_px=None, body=(531.0, 394.0))
    assert window_around(dig, PICTURE, (1.0, 1.0), bodies=5.5).side == 5.5 * 60


@pytest.mark.parametrize("grey", [0, 128, 255])
def test_the_mark_shows_on_any_grey_and_leaves_the_spot_free(grey: int) -> None:
    plain = np.full((200, 200, 3), grey, np.uint8)
    image = marked(plain, (100.0, 100.0), 20.0)
    assert np.array_equal(image[90:111, 90:111], plain[90:111, 90:111])
    assert np.abs(image.astype(int) - grey).max() >= 127
    assert np.array_equal(plain, np.full_like(plain, grey))


def test_stretch_spreads_the_levels_but_does_not_blow_up_noise() -> None:
    ramp = np.repeat(np.arange(60, 161, dtype=np.uint8)[:, None, None], 30, axis=1).repeat(3, axis=2)
    image = stretched(ramp, levels_of([ramp]))
    assert image.min() == 0
    assert image.max() == 255
    even = np.full((50, 50, 3), 80, np.uint8)
    even[::2] += 2
    assert np.ptp(stretched(even, levels_of([even])).astype(int)) <= 2 * 255 / 24 + 1


def test_visitor_with_and_without_a_place(tmp_path: Path) -> None:
    reader = SandReader(a_dig(), size=(640, 360))
    seen = a_visitor().visitor
    footage = some_footage(tmp_path, size=(640, 360))
    for stem, visitor in (("a", seen), ("b", replace(seen, place=None))):
        name = visitor_picture(footage, visitor, PICTURE, tmp_path, stem, read=reader)
        assert name == f"pictures/{stem}_visitor.jpg"
        assert _read(tmp_path, name).shape == (540, 960)
    gone = SandReader(a_dig(), size=(640, 360), missing=[(seen.start, seen.end)])
    assert visitor_picture(footage, seen, PICTURE, tmp_path, "c", read=gone) is None


def test_a_folder_that_cannot_be_written_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "pictures").write_text("a file in the way")
    dig = a_dig()
    reader = SandReader(dig, size=(640, 360))
    with pytest.raises(OutputError, match=r"cannot write .*x_before\.jpg"):
        dig_pictures(some_footage(tmp_path, size=(640, 360)), dig, PICTURE, tmp_path, "x", read=reader)
