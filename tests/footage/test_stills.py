"""A folder of JPEG pictures taken at intervals."""

from __future__ import annotations

import io
from datetime import UTC, datetime, timedelta
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import ExifTags, Image

from nestwatch.footage import Footage, Skim, find_footage, read_burst, read_pictures
from tests.footage.films import HEIGHT, START, WIDTH, camera, night, picture


def still(path: Path, index: int, *, taken: str | None = None, offset: str | None = None) -> Path:
    """A JPEG of frame `index`, written by libjpeg (Pillow)."""
    image = Image.fromarray(np.repeat(picture(index)[..., None], 3, axis=2))
    exif = image.getexif()
    inner = exif.get_ifd(ExifTags.IFD.Exif)
    if taken:
        inner[ExifTags.Base.DateTimeOriginal] = taken
    if offset:
        inner[ExifTags.Base.OffsetTimeOriginal] = offset
    path.parent.mkdir(parents=True, exist_ok=True)
    image.save(path, "JPEG", quality=92, exif=exif)
    return path


def stamped_stills(folder: Path, seconds: list[int]) -> list[Path]:
    return [
        still(folder / f"pen_{START + timedelta(seconds=second):%Y%m%dT%H%M%S}.jpg", index)
        for index, second in enumerate(seconds)
    ]


def found(folder: Path, **options: object) -> Footage:
    return find_footage(camera(folder, **options), night(), "Europe/Paris")  # type: ignore[arg-type]


def test_stills_are_one_recording_and_skimmed(tmp_path: Path) -> None:
    paths = stamped_stills(tmp_path, list(range(0, 100, 10)))
    footage = found(tmp_path)
    (run,) = footage.recordings
    assert run.kind == "stills"
    assert run.paths == tuple(paths)
    assert run.still_times == pytest.approx(START.timestamp() + np.arange(0, 100, 10))
    skim = Skim(footage, width=WIDTH)
    frames = list(skim)
    assert [frame.at - START.timestamp() for frame in frames] == pytest.approx(np.arange(0, 100, 10))
    assert skim.account().seconds_read == pytest.approx(100)
    # libjpeg (OpenCV) decodes the same luma to within the rounding of the inverse transform
    grey = cv2.imdecode(np.frombuffer(paths[3].read_bytes(), np.uint8), cv2.IMREAD_GRAYSCALE)
    assert grey is not None
    assert np.abs(frames[3].luma.astype(int) - grey).max() <= 2


def test_stills_more_often_than_asked_are_thinned(tmp_path: Path) -> None:
    stamped_stills(tmp_path, list(range(20)))
    times = [frame.at - START.timestamp() for frame in Skim(found(tmp_path), every_s=4.0)]
    assert times == pytest.approx([0, 4, 8, 12, 16])


def test_missing_stills_are_a_gap(tmp_path: Path) -> None:
    stamped_stills(tmp_path, [*range(0, 60, 10), *range(120, 160, 10)])
    skim = Skim(found(tmp_path))
    list(skim)
    gap = skim.account().gaps[1]
    assert gap.start == START + timedelta(seconds=60)
    assert gap.end == START + timedelta(seconds=120)
    assert "pictures are missing" in gap.why


def test_exif_time_and_offset(tmp_path: Path) -> None:
    still(tmp_path / "IMG_0001.JPG", 1, taken="2026:06:13 00:00:30")  # Paris, UTC+2
    still(tmp_path / "IMG_0002.JPG", 2, taken="2026:06:12 22:00:40", offset="+00:00")
    still(tmp_path / "IMG_0003.JPG", 3, taken="2026:06:12 18:00:50", offset="-04:00")
    (run,) = found(tmp_path, stamp=None, clock="local").recordings
    assert run.still_times - START.timestamp() == pytest.approx([30, 40, 50])


def test_the_stamp_goes_before_exif(tmp_path: Path) -> None:
    still(tmp_path / f"pen_{START:%Y%m%dT%H%M%S}.jpg", 1, taken="2020:01:01 00:00:00")
    assert found(tmp_path).recordings[0].start == START


def test_counted_stills_through_the_repeated_hour(tmp_path: Path) -> None:
    """IMG_0001.. at 02:40 and 02:50, then 02:00 and 02:10 by the clock: 00:40, 00:50, 01:00, 01:10 UTC."""
    for index, minute in enumerate((40, 50, 0, 10)):
        still(tmp_path / f"IMG_{index:04}.jpg", index, taken=f"2026:10:25 02:{minute:02}:00")
    change = datetime(2026, 10, 25, 0, 40, tzinfo=UTC)
    hours = night(change, before_s=600, after_s=3600)
    footage = find_footage(camera(tmp_path, stamp=None, clock="local"), hours, "Europe/Paris")
    (run,) = footage.recordings
    assert run.still_times - change.timestamp() == pytest.approx([0, 600, 1200, 1800])
    assert not run.ambiguous


@pytest.mark.parametrize(
    "data", [b"", b"\xff\xd8\xff\xe0 not much", b"text"], ids=["empty", "header-alone", "text"]
)
def test_unreadable_still_is_named(tmp_path: Path, data: bytes) -> None:
    stamped_stills(tmp_path, [0, 10, 30])
    bad = tmp_path / f"pen_{START + timedelta(seconds=20):%Y%m%dT%H%M%S}.jpg"
    bad.write_bytes(data)
    footage = found(tmp_path)
    assert [file.file for file in footage.unreadable] == [bad.name]
    assert len(footage.recordings[0].paths) == 3


def test_still_damaged_behind_its_header_is_passed_over_and_counted(tmp_path: Path) -> None:
    paths = stamped_stills(tmp_path, [0, 10, 20, 30])
    buffer = io.BytesIO(paths[1].read_bytes())
    paths[1].write_bytes(buffer.getvalue()[:700])
    skim = Skim(found(tmp_path))
    times = [frame.at - START.timestamp() for frame in skim]
    assert times == pytest.approx([0, 20, 30])
    assert skim.account().unreadable[0].file == paths[1].name


def test_burst_and_pictures_of_stills(tmp_path: Path) -> None:
    stamped_stills(tmp_path, list(range(0, 60, 2)))
    footage = found(tmp_path)
    burst = read_burst(footage, START + timedelta(seconds=10), 10, fps=5)
    assert burst.times - START.timestamp() == pytest.approx([10, 12, 14, 16, 18])
    assert burst.luma.shape == (5, HEIGHT, WIDTH)
    assert burst.key.all()
    near, far = read_pictures(footage, [START + timedelta(seconds=31), START + timedelta(seconds=200)])
    assert near is not None
    assert near.shape == (HEIGHT, WIDTH, 3)
    assert np.abs(near[..., 0].astype(int) - picture(15)).mean() < 4
    assert far is None
