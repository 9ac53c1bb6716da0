"""The files on disk: frames, time stamps, key frames, gaps; read by PyAV and, where there is one, ffprobe."""

from __future__ import annotations

import hashlib
import json
import subprocess
import tomllib
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np
import pytest

from nestwatch.errors import OutputError
from nestwatch.synthetic import Scenario, load_scenario, render_night
from nestwatch.synthetic.painter import frame_times, segments
from nestwatch.synthetic.render import file_stem
from nestwatch.synthetic.story import make_story

SHORT: dict[str, object] = {
    "night.from": "22:00",
    "night.to": "22:06",
    "animal": [],
    "video.size": [320, 180],
    "video.segment_min": 2,
}


def _short(**more: object) -> Scenario:
    return load_scenario("plain-nest", SHORT | {key.replace("__", "."): value for key, value in more.items()})


def _files(folder: Path) -> list[Path]:
    return sorted(path for path in (folder / "footage").rglob("*") if path.is_file())


def _stamps(path: Path) -> list[tuple[float, bool]]:
    """(seconds, key frame) of every decoded frame."""
    with av.open(str(path)) as container:
        return [(float(f.pts * f.time_base), f.key_frame) for f in container.decode(video=0)]  # type: ignore[operator]


def _pictures(path: Path) -> str:
    with av.open(str(path)) as container:
        every = b"".join(frame.to_ndarray().tobytes() for frame in container.decode(video=0))
    return hashlib.sha256(every).hexdigest()


@pytest.fixture(scope="module", name="night")
def _night(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("näit")
    render_night(_short(), folder, seed=3)
    return folder


def test_segments_are_named_by_the_wall_clock(night: Path) -> None:
    assert [path.name for path in _files(night)] == [
        "sandbank_20260612T220000.mp4",
        "sandbank_20260612T220200.mp4",
        "sandbank_20260612T220400.mp4",
    ]


def test_frames_and_key_frames_come_when_asked(night: Path) -> None:
    for path in _files(night):
        stamps = _stamps(path)
        assert [t for t, _ in stamps] == pytest.approx(np.arange(480) / 4)
        assert [t for t, key in stamps if key] == pytest.approx(np.arange(0, 120, 4))


def test_ffprobe_counts_the_same(night: Path, outside_tool: Callable[[str], str]) -> None:
    # Outside check: ffprobe -count_frames -show_entries stream=nb_read_frames,has_b_frames,codec_name,...
    entries = "stream=nb_read_frames,has_b_frames,codec_name,width,height,avg_frame_rate:packet=flags"
    counted = ["-v", "error", "-count_frames", "-show_entries", entries, "-of", "json"]
    command = [outside_tool("ffprobe"), *counted]
    told = json.loads(
        subprocess.run([*command, str(_files(night)[0])], capture_output=True, check=True).stdout
    )
    stream = told["streams"][0]
    assert (stream["codec_name"], stream["width"], stream["height"]) == ("h264", 320, 180)
    assert (stream["nb_read_frames"], stream["has_b_frames"], stream["avg_frame_rate"]) == ("480", 0, "4/1")
    assert sum(packet["flags"].startswith("K") for packet in told["packets"]) == 30


def test_same_seed_same_frames_in_one_process_or_two(night: Path, tmp_path: Path) -> None:
    render_night(_short(), tmp_path, seed=3, processes=2)
    assert [_pictures(path) for path in _files(tmp_path)] == [_pictures(path) for path in _files(night)]
    assert (tmp_path / "truth.json").read_bytes() == (night / "truth.json").read_bytes()
    assert (tmp_path / "site.toml").read_bytes() == (night / "site.toml").read_bytes()


def test_another_seed_gives_other_frames(night: Path, tmp_path: Path) -> None:
    render_night(_short(), tmp_path, seed=4, overrides={"night.to": "22:02"})
    assert _pictures(_files(tmp_path)[0]) != _pictures(_files(night)[0])


def test_site_file_names_what_was_written(night: Path) -> None:
    site = tomllib.loads((night / "site.toml").read_text(encoding="utf-8"))
    camera = site["camera"][0]
    assert camera["picture"] == [320, 180]
    assert (night / camera["footage"]).is_dir()
    assert len(camera["mark"]) >= 6
    posts = {post["name"]: post["at"] for post in site["pen"][0]["post"]}
    lens = make_story(_short(), 3).layout.lenses["sandbank"]
    for mark in camera["mark"]:
        assert mark["pixel"] == pytest.approx(lens.project([[*posts[mark["post"]], 0.0]])[0], abs=2)
    assert [zone["kind"] for zone in camera["zone"]] == ["nesting", "water"]


@pytest.mark.parametrize(
    ("codec", "container", "name"),
    [
        ("libx264", "mkv", "h264"),
        ("libx265", "mp4", "hevc"),
        ("mpeg4", "avi", "mpeg4"),
        ("libx264", "ts", "h264"),
        ("mjpeg", "avi", "mjpeg"),
    ],
)
def test_other_codecs_and_containers(tmp_path: Path, codec: str, container: str, name: str) -> None:
    more = {"video__codec": codec, "video__container": container, "video__fps": 2, "night__to": "22:01"}
    render_night(_short(**more), tmp_path, seed=3)
    (path,) = _files(tmp_path)
    with av.open(str(path)) as video:
        assert video.streams.video[0].codec_context.name == name
    stamps = _stamps(path)
    assert len(stamps) == 120
    assert np.diff([t for t, _ in stamps]) == pytest.approx(0.5, abs=1e-3)


def test_uneven_frames_keep_their_times(tmp_path: Path) -> None:
    scenario = _short(video__vfr=True)
    render_night(scenario, tmp_path, seed=3)
    story = make_story(scenario, 3)
    start, end = segments(story)[0]
    expected = frame_times(story, start, end)
    assert np.std(np.diff(expected)) > 0.02
    assert [t for t, _ in _stamps(_files(tmp_path)[0])] == pytest.approx(expected - start, abs=1e-3)


def test_a_gap_ends_one_file_and_begins_another() -> None:
    story = make_story(_short(gap=[{"from": "22:01", "to": "22:03"}]), 3)
    assert segments(story) == [(0, 60), (180, 240), (240, 360)]


def test_the_repeated_hour_keeps_both_its_files() -> None:
    # Central Europe: 25 October 2026, 03:00 summer time becomes 02:00.
    more = {"night__date": "2026-10-24", "night__to": "05:00", "video__segment_min": 60}
    story = make_story(_short(**more), 3)
    stems = [file_stem(story, "sandbank", start) for start, _ in segments(story)]
    assert stems[4:6] == ["sandbank_20261025T020000", "again/sandbank_20261025T020000"]
    assert len(set(stems)) == len(stems) == 8


def test_two_cameras_see_the_same_spot(tmp_path: Path) -> None:
    more = {"camera": [{"name": "sandbank"}, {"name": "corner", "side": "west"}], "night__to": "22:01"}
    render_night(_short(**more), tmp_path, seed=3)
    assert [path.parent.name for path in _files(tmp_path)] == ["corner", "sandbank"]
    story = make_story(load_scenario("plain-nest", {"camera": more["camera"]}), 3)
    (event,) = story.actors[0].events
    back = [lens.ground(lens.project([(*event.rear, 0.0)]))[0] for lens in story.layout.lenses.values()]
    assert back[0] == pytest.approx(event.rear, abs=1e-6)
    assert back[1] == pytest.approx(event.rear, abs=1e-6)


def test_a_folder_that_cannot_be_written_is_one_clear_line(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    with pytest.raises(OutputError, match="cannot write the invented night"):
        render_night(_short(), tmp_path / "file", seed=1)


def test_progress_counts_files(tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    render_night(
        _short(video__fps=1), tmp_path, seed=1, progress=lambda done, total: told.append((done, total))
    )
    assert told == [(1, 3), (2, 3), (3, 3)]


def test_an_interrupted_file_is_not_left_under_its_name(tmp_path: Path) -> None:
    def stop(done: int, total: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        render_night(_short(), tmp_path, seed=1, progress=stop)
    assert [path.suffix for path in _files(tmp_path)] == [".mp4"]
