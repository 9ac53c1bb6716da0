"""From a camera's folder to the recordings of one night."""

from __future__ import annotations

import os
import shutil
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import av
import pytest

from nestwatch.errors import FootageError, SiteError, StampError
from nestwatch.footage import Footage, Skim, find_footage
from nestwatch.site.records import NightHours
from tests.footage.films import START, camera, even, film, night, stamped


@pytest.fixture(scope="session")
def short_film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Sixty seconds at one frame a second, key frame every 5 s: cheap to copy about."""
    return film(tmp_path_factory.mktemp("film") / "film.mp4", even(60, fps=1), fps=1, key_every=5)


def put(source: Path, target: Path) -> Path:
    target.parent.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(source, target)
    return target


def local_night(day: date, zone: str, start: int = 16, end: int = 9) -> NightHours:
    tz = ZoneInfo(zone)
    begin = datetime(day.year, day.month, day.day, start, tzinfo=tz).astimezone(UTC)
    next_day = day + timedelta(days=1)
    finish = datetime(next_day.year, next_day.month, next_day.day, end, tzinfo=tz).astimezone(UTC)
    return NightHours(day, begin, finish, (begin, finish), None, None)


def starts(footage: Footage) -> list[str]:
    return [f"{one.start:%m-%d %H:%M:%S}" for one in footage.recordings]


def test_missing_folder_is_the_site_files_fault(tmp_path: Path) -> None:
    with pytest.raises(SiteError, match=r'camera "pond": the footage folder .* does not exist; correct'):
        find_footage(camera(tmp_path / "nowhere"), night(), "UTC")


def test_a_file_in_place_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "pond").write_text("x")
    with pytest.raises(SiteError):
        find_footage(camera(tmp_path / "pond"), night(), "UTC")


def test_folder_without_any_video(tmp_path: Path) -> None:
    (tmp_path / "readme.txt").write_text("x")
    (tmp_path / "._pen_20260612T220000.mp4").write_bytes(b"another program's")
    with pytest.raises(FootageError, match="no video and no JPEG picture in") as caught:
        find_footage(camera(tmp_path), night(), "UTC")
    assert "\n" not in str(caught.value)


def test_no_recording_in_the_night_is_no_error(tmp_path: Path, short_film: Path) -> None:
    put(short_film, stamped(tmp_path, START - timedelta(days=3)))
    footage = find_footage(camera(tmp_path), night(), "UTC")
    assert footage.recordings == ()
    assert footage.unreadable == ()
    assert (footage.width, footage.height, footage.scale) == (160, 120, (1.0, 1.0))
    skim = Skim(footage)
    assert list(skim) == []
    (gap,) = skim.account().gaps
    assert gap.why == "no recording"


def test_sub_folders_and_non_ascii_names(tmp_path: Path, short_film: Path) -> None:
    put(short_film, tmp_path / "Düne 砂" / "2026-06-12" / "Höhle_20260612T220000.MP4")
    footage = find_footage(camera(tmp_path, stamp="Höhle_%Y%m%dT%H%M%S"), night(), "UTC")
    assert starts(footage) == ["06-12 22:00:00"]
    assert len(list(Skim(footage))) == 12


def test_night_spans_midnight(tmp_path: Path, short_film: Path) -> None:
    for hour in range(12, 40):
        put(short_film, stamped(tmp_path, datetime(2026, 6, 12, tzinfo=UTC) + timedelta(hours=hour)))
    footage = find_footage(
        camera(tmp_path, clock="local"), local_night(date(2026, 6, 12), "Europe/Paris"), "Europe/Paris"
    )
    # 16:00 to 09:00 in Paris is 14:00 to 07:00 UTC; the first stamp inside is 16:00, the last 08:00
    assert starts(footage)[0] == "06-12 14:00:00"
    assert starts(footage)[-1] == "06-13 06:00:00"
    assert len(footage.recordings) == 17


def test_camera_that_runs_ahead(tmp_path: Path, short_film: Path) -> None:
    put(short_film, stamped(tmp_path))
    footage = find_footage(camera(tmp_path, error_s=95.0), night(before_s=300), "UTC")
    assert starts(footage) == ["06-12 21:58:25"]


def test_only_files_of_the_night_are_opened(
    tmp_path: Path, short_film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for day in range(-40, 40):
        put(short_film, stamped(tmp_path, START + timedelta(days=day)))
    opened: list[str] = []
    real_open = av.open

    def spy(file: str, *args: object, **kwargs: object) -> object:
        opened.append(Path(file).name)
        return real_open(file, *args, **kwargs)  # type: ignore[call-overload]

    monkeypatch.setattr(av, "open", spy)
    assert len(find_footage(camera(tmp_path), night(), "UTC").recordings) == 1
    assert set(opened) <= {stamped(tmp_path).name, stamped(tmp_path, START - timedelta(days=1)).name}


def test_a_recording_reaches_into_the_night(tmp_path: Path, short_film: Path) -> None:
    put(short_film, stamped(tmp_path, START - timedelta(seconds=80)))  # 20 s of it lie in the night
    skim = Skim(find_footage(camera(tmp_path), night(), "UTC"))
    frames = list(skim)
    assert frames[0].at == (START - timedelta(seconds=60)).timestamp()
    assert skim.account().seconds_read == pytest.approx(40)


def test_long_recording_behind_many_short_ones_is_not_overlooked(tmp_path: Path, short_film: Path) -> None:
    film(
        stamped(tmp_path, START - timedelta(minutes=30)),
        even(2400, fps=1),
        fps=1,
        key_every=100,
        size=(32, 24),
    )
    for minute in range(2, 30):
        path = stamped(tmp_path, START - timedelta(minutes=minute), prefix="pen")
        film(path, even(4, fps=1), fps=1, size=(32, 24))
    footage = find_footage(camera(tmp_path, size=(32, 24)), night(), "UTC")
    assert len(footage.recordings) == 1


def test_autumn_night_by_overlap(tmp_path: Path, short_film: Path) -> None:
    """One-minute recordings at 02:10:00 and 02:10:30 of the repeated hour: the second is an hour later."""
    for stamp in ("20261025T020900", "20261025T021000", "20261025T021020", "20261025T021100"):
        put(short_film, tmp_path / f"pen_{stamp}.mp4")
    hours = local_night(date(2026, 10, 24), "Europe/Paris")
    assert hours.end - hours.start == timedelta(hours=18)
    footage = find_footage(camera(tmp_path, clock="local"), hours, "Europe/Paris")
    assert starts(footage) == ["10-25 00:09:00", "10-25 00:10:00", "10-25 00:11:00", "10-25 01:10:20"]


def test_lone_recording_in_the_repeated_hour_is_flagged(tmp_path: Path, short_film: Path) -> None:
    put(short_film, tmp_path / "pen_20261025T023000.mp4")
    hours = local_night(date(2026, 10, 24), "Europe/Paris")
    footage = find_footage(camera(tmp_path, clock="local"), hours, "Europe/Paris")
    assert footage.recordings[0].ambiguous
    assert "may be an hour later than told" in footage.notes[0]


def test_creation_time_of_the_container(tmp_path: Path) -> None:
    film(tmp_path / "clip.mp4", even(4), created=START)
    footage = find_footage(camera(tmp_path, stamp=None), night(), "UTC")
    assert starts(footage) == ["06-12 22:00:00"]


def test_unknown_start_proposes_a_pattern(tmp_path: Path, short_film: Path) -> None:
    put(short_film, tmp_path / "pond 2026-06-12 22-00-00.mp4")
    with pytest.raises(StampError) as caught:
        find_footage(camera(tmp_path), night(), "UTC")
    message = str(caught.value)
    assert "pond 2026-06-12 22-00-00.mp4" in message
    assert 'stamp = "pond %Y-%m-%d %H-%M-%S" would read it' in message
    assert "\n" not in message
    assert caught.value.exit_code == 2


def test_a_stray_file_is_named_and_does_not_stop_the_night(tmp_path: Path, short_film: Path) -> None:
    put(short_film, stamped(tmp_path))
    put(short_film, tmp_path / "holiday.mp4")
    footage = find_footage(camera(tmp_path), night(), "UTC")
    assert len(footage.recordings) == 1
    (stray,) = footage.unreadable
    assert stray.file == "holiday.mp4"
    assert "when it starts is unknown" in stray.why


def test_modification_time_only_when_asked_for(tmp_path: Path, short_film: Path) -> None:
    path = put(short_film, tmp_path / "clip.mp4")
    end = START + timedelta(seconds=60)
    os.utime(path, (end.timestamp(), end.timestamp()))
    with pytest.raises(StampError):
        find_footage(camera(tmp_path), night(), "UTC")
    footage = find_footage(camera(tmp_path), night(), "UTC", trust_mtime=True)
    assert starts(footage) == ["06-12 22:00:00"]
    assert "last written" in footage.notes[0]


def test_picture_of_the_same_shape_is_scaled(tmp_path: Path, short_film: Path) -> None:
    put(short_film, stamped(tmp_path))
    footage = find_footage(camera(tmp_path, size=(320, 240)), night(), "UTC")
    assert footage.scale == (0.5, 0.5)
    assert "160x120" in footage.notes[0]
    assert "320x240" in footage.notes[0]


def test_picture_of_another_shape_is_an_error(tmp_path: Path, short_film: Path) -> None:
    put(short_film, stamped(tmp_path))
    with pytest.raises(SiteError, match=r"160x120.*`picture` in the site file is 192x108"):
        find_footage(camera(tmp_path, size=(192, 108)), night(), "UTC")


def test_one_recording_of_another_shape_is_set_aside(tmp_path: Path, short_film: Path) -> None:
    put(short_film, stamped(tmp_path))
    film(stamped(tmp_path, START + timedelta(seconds=100)), even(4), size=(192, 108))
    footage = find_footage(camera(tmp_path), night(), "UTC")
    assert len(footage.recordings) == 1
    assert "192x108" in footage.unreadable[0].why


def test_two_sizes_of_one_shape_give_one_shape_of_frame(tmp_path: Path, short_film: Path) -> None:
    put(short_film, stamped(tmp_path))
    film(stamped(tmp_path, START + timedelta(seconds=100)), even(8), size=(320, 240))
    frames = list(Skim(find_footage(camera(tmp_path), night(), "UTC")))
    assert {frame.luma.shape for frame in frames} == {(120, 160)}
    assert {frame.recording for frame in frames} == {0, 1}


def test_overlapping_recordings_count_once(tmp_path: Path, short_film: Path) -> None:
    """60 s from 22:00:00, 60 s from 22:00:40, and one wholly inside the first: 100 s in all."""
    put(short_film, stamped(tmp_path))
    put(short_film, stamped(tmp_path, START + timedelta(seconds=40)))
    film(stamped(tmp_path, START + timedelta(seconds=10)), even(8))
    skim = Skim(find_footage(camera(tmp_path), night(), "UTC"))
    frames = list(skim)
    account = skim.account()
    assert account.seconds_read == pytest.approx(100, abs=0.01)
    assert sum(frame.shown_s for frame in frames) == pytest.approx(100, abs=0.01)
    changes = [frame.recording for frame in frames]
    assert changes == sorted(changes)
    assert set(changes) == {0, 2}
    assert (
        min(frame.at for frame in frames if frame.recording == 2)
        == (START + timedelta(seconds=40)).timestamp()
    )


def test_small_joins_are_no_gaps(tmp_path: Path, short_film: Path) -> None:
    for number in range(3):
        put(short_film, stamped(tmp_path, START + timedelta(seconds=61 * number)))
    skim = Skim(find_footage(camera(tmp_path), night(), "UTC"))
    list(skim)
    account = skim.account()
    assert [gap.why for gap in account.gaps] == ["no recording", "no recording"]
    assert account.seconds_read == pytest.approx(182, abs=0.01)
