"""Broken and unfinished files: what can be read is read, the rest is named with its reason."""

from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from nestwatch.footage import (
    Account,
    Footage,
    Skim,
    SkimFrame,
    discover,
    find_footage,
    read_burst,
    read_pictures,
)
from nestwatch.footage.probe import Probe, Trials, probe
from tests.footage.films import FRAGMENTED, START, camera, even, film, full_decode, night, stamped

LATER = START + timedelta(days=3)


def found(folder: Path, *, now: datetime = LATER) -> Footage:
    return find_footage(camera(folder), night(), "UTC", now=now)


def skimmed(footage: Footage, every_s: float = 2.0) -> tuple[list[SkimFrame], Account]:
    skim = Skim(footage, every_s=every_s)
    frames = list(skim)
    return frames, skim.account()


def truncate(path: Path, share: float) -> None:
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])


def readable_seconds(path: Path) -> float:
    """How much a decode from the front yields."""
    return max(seconds for seconds, _, _ in full_decode(path).values())


CUT = [
    pytest.param(".mkv", None, id="mkv"),
    pytest.param(".ts", None, id="ts"),
    pytest.param(".avi", None, id="avi"),
    pytest.param(".mp4", FRAGMENTED, id="fragmented-mp4"),
    pytest.param(".mp4", {"movflags": "faststart"}, id="mp4-index-in-front"),
]


@pytest.mark.parametrize(("ending", "container"), CUT)
def test_cut_off_recording_is_read_up_to_the_cut(
    tmp_path: Path, ending: str, container: dict[str, str] | None
) -> None:
    path = film(stamped(tmp_path, ending=ending), even(40), container=container)
    truncate(path, 0.61)
    last = readable_seconds(path)
    assert 5 < last < 38, "the film holds no trap"
    frames, account = skimmed(found(tmp_path))
    times = [frame.at - START.timestamp() for frame in frames]
    assert times == pytest.approx(np.arange(0, last, 2.0), abs=0.1)
    assert account.seconds_read == pytest.approx(last, abs=2.1)
    assert [file.file for file in account.unreadable] == [path.name]
    assert "cut off" in account.unreadable[0].why or "not closed" in account.unreadable[0].why
    assert "ends early" in account.gaps[-1].why
    assert path.name in account.gaps[-1].why


def test_whole_recordings_are_not_called_cut(tmp_path: Path) -> None:
    for number, ending in enumerate((".mp4", ".mkv", ".ts", ".avi", ".mov")):
        film(stamped(tmp_path, START + timedelta(seconds=20 * number), ending), even(8))
    footage = found(tmp_path)
    assert len(footage.recordings) == 5
    assert footage.unreadable == ()
    assert [one.cut for one in footage.recordings] == [""] * 5


@pytest.mark.parametrize(
    ("name", "data", "word"),
    [
        pytest.param(".mp4", b"", "0 bytes", id="empty"),
        pytest.param(".mp4", b"no video at all " * 99, "not a readable video", id="text-in-mp4"),
        pytest.param(".mkv", os.urandom(5000), "not a readable video", id="noise-in-mkv"),
        pytest.param(".ts", b"\x47\x1f\xff\x10" + b"\xff" * 184, "", id="null-packet-ts"),
        pytest.param(".avi", b"RIFF\x00\x00\x00\x00AVI LIST", "", id="avi-header-alone"),
        pytest.param(".h264", b"\x00\x00\x00\x01\x67" + b"\x42" * 40, "", id="half-a-parameter-set"),
    ],
)
def test_unreadable_file_is_named(tmp_path: Path, name: str, data: bytes, word: str) -> None:
    path = stamped(tmp_path, ending=name)
    path.write_bytes(data)
    footage = found(tmp_path)
    assert footage.recordings == ()
    (file,) = footage.unreadable
    assert file.file == path.name
    assert word in file.why
    assert file.why
    assert "\n" not in file.why
    account = skimmed(footage)[1]
    assert account.seconds_read == 0
    assert f"{path.name} could not be read" in account.gaps[0].why


def test_mp4_without_its_index(tmp_path: Path) -> None:
    path = film(stamped(tmp_path), even(8))
    truncate(path, 0.9)
    (file,) = found(tmp_path).unreadable
    assert "index" in file.why


def test_sound_alone_is_no_video(tmp_path: Path) -> None:
    import av

    path = stamped(tmp_path)
    with av.open(str(path), "w") as output:
        stream = output.add_stream("aac", rate=8000)
        assert isinstance(stream, av.AudioStream)
        frame = av.AudioFrame(format="fltp", layout="mono", samples=1024)
        frame.rate, frame.pts = 8000, 0
        for plane in frame.planes:
            plane.update(bytes(plane.buffer_size))
        output.mux(stream.encode(frame))
        output.mux(stream.encode(None))
    assert "no video" in found(tmp_path).unreadable[0].why


def damage(path: Path, spots: list[float], length: int = 3000) -> None:
    data = bytearray(path.read_bytes())
    noise = np.random.default_rng(3)
    for spot in spots:
        at = int(len(data) * spot)
        data[at : at + length] = noise.integers(0, 256, length, dtype=np.uint8).tobytes()
    path.write_bytes(bytes(data))


@pytest.mark.parametrize("ending", [".mp4", ".mkv", ".ts", ".avi"])
def test_damage_in_the_middle_does_not_stop_the_night(tmp_path: Path, ending: str) -> None:
    path = film(stamped(tmp_path, ending=ending), even(60))
    damage(path, [0.3, 0.33, 0.36, 0.39, 0.5])
    frames, account = skimmed(found(tmp_path))
    times = np.array([frame.at for frame in frames]) - START.timestamp()
    assert len(times) >= 20
    assert times[-1] > 55
    assert np.all(np.diff(times) > 0)
    assert account.seconds_read + sum(
        (gap.end - gap.start).total_seconds() for gap in account.gaps
    ) == pytest.approx(account.seconds_expected, abs=1e-3)


def test_a_destroyed_stretch_becomes_a_gap_and_the_file_is_named(tmp_path: Path) -> None:
    path = film(stamped(tmp_path), even(60))
    data = bytearray(path.read_bytes())
    a, b = int(len(data) * 0.4), int(len(data) * 0.7)
    data[a:b] = bytes(b - a)
    path.write_bytes(bytes(data))
    frames, account = skimmed(found(tmp_path))
    times = [frame.at - START.timestamp() for frame in frames]
    lost = [gap for gap in account.gaps if "damaged here" in gap.why]
    assert len(lost) == 1
    begin = lost[0].start.timestamp() - START.timestamp()
    end = lost[0].end.timestamp() - START.timestamp()
    assert begin == pytest.approx(24, abs=4)
    assert end == pytest.approx(42, abs=4)
    assert not [time for time in times if begin < time < end - 0.001]
    assert sum(frame.shown_s for frame in frames) == pytest.approx(account.seconds_read, abs=0.01)
    assert account.unreadable[0].file == path.name
    assert "damaged" in account.unreadable[0].why


def test_one_damaged_key_frame_is_replaced_by_its_neighbour(tmp_path: Path) -> None:
    path = film(stamped(tmp_path), even(40))
    import av

    with av.open(str(path)) as source:
        keys = [(p.pos, p.size) for p in source.demux(video=0) if p.size and p.is_keyframe]
    data = bytearray(path.read_bytes())
    at, size = keys[4]  # at 8 s
    assert at is not None
    data[at + 4 : at + size] = bytes(size - 4)
    path.write_bytes(bytes(data))
    frames, account = skimmed(found(tmp_path), every_s=4.0)
    times = [round(frame.at - START.timestamp()) for frame in frames]
    assert 8 not in times
    assert 10 in times
    assert not [gap for gap in account.gaps if "damaged" in gap.why]
    assert "1 of" in account.unreadable[0].why


def written(path: Path, moment: datetime) -> None:
    os.utime(path, (moment.timestamp(), moment.timestamp()))


def test_a_recording_in_progress_is_read_and_named(tmp_path: Path) -> None:
    path = film(stamped(tmp_path, ending=".mkv"), even(40))
    truncate(path, 0.7)
    now = START + timedelta(seconds=30)
    written(path, now - timedelta(seconds=2))
    footage = found(tmp_path, now=now)
    assert len(footage.recordings) == 1
    assert footage.unreadable[0].why.startswith("still being written when read; ")


def test_a_file_that_grows_while_it_is_read_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = film(stamped(tmp_path, ending=".ts"), even(8))
    written(path, START)
    real_probe = probe

    def grow(of: Path, trials: Trials) -> Probe:
        seen = real_probe(of, trials)
        of.write_bytes(of.read_bytes() + bytes(188))
        return seen

    monkeypatch.setattr(discover, "probe", grow)
    assert "it grew while it was read" in found(tmp_path).unreadable[0].why


def test_an_mp4_in_progress_is_named(tmp_path: Path) -> None:
    path = film(stamped(tmp_path), even(8))
    truncate(path, 0.9)
    written(path, START + timedelta(seconds=7))
    footage = found(tmp_path, now=START + timedelta(seconds=9))
    assert footage.unreadable[0].why.startswith("still being written when read; ")


def test_a_finished_recording_that_was_just_copied_is_whole(tmp_path: Path) -> None:
    for ending in (".mp4", ".ts", ".mkv"):
        path = film(stamped(tmp_path / ending[1:], ending=ending), even(8))
        now = datetime.now(UTC)
        written(path, now)
        assert found(path.parent, now=now).unreadable == ()


def test_bursts_and_pictures_survive_a_file_that_is_gone(tmp_path: Path) -> None:
    path = film(stamped(tmp_path), even(8))
    footage = found(tmp_path)
    path.unlink()
    assert read_burst(footage, START, 3, fps=5).times.shape == (0,)
    assert list(read_pictures(footage, [START])) == [None]
    frames, account = skimmed(footage)
    assert frames == []
    assert account.seconds_read == 0
    assert account.unreadable[0].file == path.name
