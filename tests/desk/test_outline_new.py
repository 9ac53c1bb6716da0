"""`nestwatch outline`: the command's own words, and a site file from nothing but a folder of recordings."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import urllib.request
from datetime import UTC, datetime
from pathlib import Path

import av
import numpy as np
import pytest
from click.testing import CliRunner, Result

from nestwatch.commands.main import main
from nestwatch.desk.found import find_cameras
from nestwatch.errors import FootageError
from nestwatch.site.draft import load_draft

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "synthetic" / "night"


def film(path: Path, created: datetime | None = None, size: tuple[int, int] = (64, 48)) -> None:
    """A recording of two grey frames, with the time (UTC) that a recorder would write into it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with av.open(str(path), "w") as container:
        if created:
            container.metadata["creation_time"] = f"{created:%Y-%m-%dT%H:%M:%S}.000000Z"
        stream = container.add_stream("libx264", rate=1)
        stream.width, stream.height = size
        for _ in range(2):
            frame = av.VideoFrame.from_ndarray(np.full((size[1], size[0], 3), 90, np.uint8))
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


@pytest.fixture
def unserved(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """Stand in for serving: the site files that a page would have been opened on."""
    served: list[Path] = []
    monkeypatch.setattr("nestwatch.commands.outline._serve", lambda path, *_: served.append(path))
    return served


def run(*arguments: str | Path, **options: object) -> Result:
    return CliRunner().invoke(main, ["outline", *map(str, arguments)], **options)  # type: ignore[arg-type]


def test_a_site_from_a_folder_of_recordings(tmp_path: Path, unserved: list[Path]) -> None:
    shutil.copytree(SAMPLE / "footage", tmp_path / "Aufnahmen Süd")
    site_file = tmp_path / "mein platz" / "site.toml"
    result = run(
        site_file, "--new", "--footage", tmp_path / "Aufnahmen Süd", "--name", 'The "Fen"',
        "--timezone", "Europe/Berlin", "--latitude", "52.5", "--longitude", "-1.25",
        "--units", "imperial", "--animal", "Box turtle",
    )  # fmt: skip
    assert (result.exit_code, unserved) == (0, [site_file])
    assert result.stdout.splitlines() == [
        'Camera "sandbank": 2 recordings, 352 x 208 pixels, '
        "names such as sandbank_%Y%m%dT%H%M%S, local time.",
        f"Written: {site_file}. Correct in it what is not so: place, animal, clock.",
    ]
    site = load_draft(site_file).site
    camera = site.cameras[0]
    assert (site.name, site.timezone, site.latitude, site.longitude) == (
        'The "Fen"',
        "Europe/Berlin",
        52.5,
        -1.25,
    )
    assert (site.units, site.animal.name) == ("imperial", "Box turtle")
    assert (camera.name, camera.stamp, camera.picture) == ("sandbank", "sandbank_%Y%m%dT%H%M%S", (352, 208))
    assert camera.footage == tmp_path / "Aufnahmen Süd" / "sandbank"
    text = site_file.read_text(encoding="utf-8")
    assert 'footage = "../Aufnahmen Süd/sandbank"' in text
    assert text.count("#") > 20


def test_the_remarks_are_right_once_the_marks_are_taken_out(tmp_path: Path, unserved: list[Path]) -> None:
    """What the file offers to be uncommented is itself a sound site file."""
    film(tmp_path / "footage" / "a" / "a_20260612_210000.mp4")
    site_file = tmp_path / "site.toml"
    assert run(site_file, "--new").exit_code == 0
    lines = site_file.read_text(encoding="utf-8").splitlines()
    offered = [re.sub(r"^# (?=\[\[|\w+ = |between|length)", "", line) for line in lines]
    assert offered != lines
    spare = [
        "[[pen.tape]]",
        'between = ["post_se", "post_ne"]',
        "length = 3",
        "[[pen.tape]]",
        'between = ["post_sw", "post_ne"]',
        "length = 5.16",
    ]
    place = offered.index('length = "4.20 m"') + 1
    site_file.write_text("\n".join([*offered[:place], *spare, *offered[place:]]), encoding="utf-8")
    site = load_draft(site_file).site
    assert site.animal.clutch_size == (5, 17)
    assert [post.name for post in site.pens[0].posts] == ["post_sw", "post_se", "post_ne"]


def test_nothing_is_overwritten(tmp_path: Path, unserved: list[Path]) -> None:
    (tmp_path / "site.toml").write_text("mine")
    result = run(tmp_path / "site.toml", "--new")
    assert result.exit_code == 1
    assert "is there already and is not overwritten; leave --new out" in result.stderr
    assert ((tmp_path / "site.toml").read_text(), unserved) == ("mine", [])


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["--new"], 1, "there is no such folder; name the one that holds the recordings."),
        (["--new", "--footage", "empty"], 1, "no video and no JPEG picture in it or its sub-folders"),
        (
            ["--new", "--footage", "broken"],
            1,
            "none of its recordings can be opened; check that they are whole.",
        ),
        (["--new", "--footage", "good", "--timezone", "Europe/Pariss"], 2, 'did you mean "Europe/Paris"?'),
        (["--name", "x"], 2, "--name goes with --new"),
        ([], 2, "there is no such file"),
    ],
)
def test_each_refusal_is_one_line_and_writes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: list[str], code: int, words: str
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "empty").mkdir()
    (tmp_path / "broken").mkdir()
    (tmp_path / "broken" / "a_20260612_210000.mp4").write_bytes(b"no film")
    film(tmp_path / "good" / "a_20260612_210000.mp4")
    result = run("site.toml", *arguments)
    assert (result.exit_code, words in result.stderr) == (code, True), result.stderr
    assert not (tmp_path / "site.toml").exists()


def test_folders_that_are_cameras(tmp_path: Path) -> None:
    for name in (
        "gate/2026-06-12/clip 001 2026-06-12 21-00-00.mp4",
        "gate/2026-06-13/clip 002 2026-06-13 21-00-00.mp4",
        "Nord: 1/x.mp4".replace(":", "_"),
    ):
        film(tmp_path / name, size=(96, 64))
    (tmp_path / "empty").mkdir()
    (tmp_path / ".trash").mkdir()
    film(tmp_path / ".trash" / "y.mp4")
    found = find_cameras(tmp_path, "Europe/Paris")
    assert [(one.name, one.stamp, one.files, one.picture) for one in found] == [
        ("Nord_ 1", None, 1, (96, 64)),
        ("gate", "clip * %Y-%m-%d %H-%M-%S", 2, (96, 64)),
    ]
    assert [one.name for one in find_cameras(tmp_path / "gate", "Europe/Paris")] == [
        "gate"
    ]  # dates are no cameras


def test_two_folders_with_one_name(tmp_path: Path) -> None:
    film(tmp_path / "Gate" / "a.mp4")
    film(tmp_path / "gate" / "a.mp4")
    if len(list(tmp_path.iterdir())) < 2:
        return  # this disk does not tell them apart, so they cannot meet
    with pytest.raises(
        FootageError, match=r'two folders would give cameras with one name, "gate": .*Gate and .*gate'
    ):
        find_cameras(tmp_path, "Europe/Paris")


@pytest.mark.parametrize(
    ("wall", "utc", "clock"),
    [
        ("20260612_210000", datetime(2026, 6, 12, 19, 0, tzinfo=UTC), "local"),
        ("20260612_210000", datetime(2026, 6, 12, 21, 0, tzinfo=UTC), "utc"),
        ("20260612_210000", datetime(2026, 6, 12, 3, 0, tzinfo=UTC), "local"),  # tells nothing
        ("20260612_210000", None, "local"),
    ],
)
def test_the_clock_is_told_by_the_time_inside(
    tmp_path: Path, wall: str, utc: datetime | None, clock: str
) -> None:
    film(tmp_path / f"{wall}.mp4", utc)
    assert find_cameras(tmp_path, "Europe/Paris")[0].clock == clock


def test_the_command_serves_until_it_is_interrupted(site_file: Path) -> None:
    """Ctrl-C ends it with exit code 0 and a last line; the printed address works."""
    if os.name == "nt":
        pytest.skip("Windows has no SIGINT for another process")
    command = [sys.executable, "-m", "nestwatch", "outline", str(site_file), "--no-browser"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stdout
        first = process.stdout.readline()
        found = re.search(r"http://127\.0\.0\.1:\d+/start\?token=\S+", first)
        assert found, first
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        with opener.open(found[0]) as answer:
            assert "Outlines" in answer.read().decode()
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=30)
    assert (process.returncode, err) == (0, "")
    assert out.endswith("The page is closed. What was saved is in the site file.\n")


def test_the_browser_is_asked_for_the_page(site_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[str] = []
    monkeypatch.setattr("nestwatch.desk.open_browser", opened.append)
    monkeypatch.setattr("nestwatch.desk.LocalServer.run", lambda self: self.close() or self._close())
    result = run(site_file)
    assert result.exit_code == 0
    assert opened == [result.stdout.splitlines()[0].rsplit(" ", 1)[1]]
