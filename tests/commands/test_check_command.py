"""`nestwatch check`: what is understood of a site file and found of footage, in words and as an exit code."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

import nestwatch.footage
from nestwatch.commands.main import main
from nestwatch.errors import FootageError
from nestwatch.footage.records import Footage, Recording, Unreadable
from nestwatch.site.records import Camera
from tests.site.sites import spoiled, written

START = datetime(2026, 6, 12, 14, tzinfo=UTC)

SITE = """\
The site file is in order: Linden Fen, European pond turtle, 1 camera.
Night of 2026-06-12: from 16:00 to 09:00, local time in Europe/Paris.
Digs are expected from 18:00 to 03:00; sunset 21:49, sunrise 05:57.
"""
CAMERA = 'Camera "sandbank": picture 960 x 540, looks at sand pen, nesting sand bank, water pool, 4 marks.\n'


def recording(hour: float, hours: float) -> Recording:
    """A recording that starts `hour` hours into the night."""
    start = START + timedelta(hours=hour)
    return Recording(
        kind="video",
        paths=(Path("a.mp4"),),
        start=start,
        end=start + timedelta(hours=hours),
        width=1920,
        height=1080,
        codec="h264",
        fps=15.0,
        key_times=np.empty(0),
        still_times=np.empty(0),
        ambiguous=False,
        spans=np.array([[0.0, hours * 3600]]),
    )


def footage(recordings: int, unreadable: int = 0, notes: tuple[str, ...] = ()) -> Footage:
    """Footage of one-hour recordings from 19:00 local time."""
    return Footage(
        camera="sandbank",
        folder=Path("footage/sandbank"),
        start=START,
        end=START + timedelta(hours=17),
        recordings=tuple(recording(3 + n, 1) for n in range(recordings)),
        unreadable=tuple(Unreadable(f"{n}.mp4", "cut off") for n in range(unreadable)),
        notes=notes,
        width=1920,
        height=1080,
        scale=(2.0, 2.0),
    )


def check(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, found: Footage | Exception, text: str | None = None
) -> Result:
    """Run `check` with what would be found of footage."""

    def find_footage(_camera: Camera, *_: object, trust_mtime: bool) -> Footage:
        assert trust_mtime is False
        if isinstance(found, Exception):
            raise found
        return found

    monkeypatch.setattr(nestwatch.footage, "find_footage", find_footage)
    site = written(tmp_path, text) if text else written(tmp_path)
    return CliRunner().invoke(main, ["check", str(site), "--date", "2026-06-12"])


def test_everything_in_order(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    result = check(tmp_path, monkeypatch, footage(2))
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout == (
        SITE + CAMERA + "  2 recordings of this night, from 19:00 to 21:00, 1920 x 1080 pixels.\n"
    )


def test_some_files_cannot_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    result = check(tmp_path, monkeypatch, footage(1, unreadable=5, notes=("The picture was scaled.",)))
    assert (result.exit_code, result.stderr) == (3, "")
    assert result.stdout == SITE + CAMERA + (
        "  1 recording of this night, from 19:00 to 20:00, 1920 x 1080 pixels.\n"
        "  Cannot be read: 0.mp4 (cut off).\n"
        "  Cannot be read: 1.mp4 (cut off).\n"
        "  Cannot be read: 2.mp4 (cut off).\n"
        "  Cannot be read: 2 more files.\n"
        "  The picture was scaled.\n"
    )


def test_no_recording_of_the_night(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    result = check(tmp_path, monkeypatch, footage(0))
    assert (result.exit_code, result.stderr) == (1, "")
    assert result.stdout == SITE + CAMERA + (
        f"  No recording of this night in {Path('footage/sandbank')}: check the folder, the stamp and the "
        "clock.\n"
    )


def test_a_camera_without_footage_does_not_hide_the_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    second = '[[camera]]\nname = "pond"\nfootage = "pond"\npicture = [640, 360]\n'
    text = spoiled(('[[camera.mark]]\npost = "post_nw"\npixel = [230.0, 42.0]\n', "")) + second
    result = check(tmp_path, monkeypatch, FootageError("the folder is empty; check it."), text)
    assert (result.exit_code, result.stderr) == (1, "")
    assert result.stdout == (
        SITE.replace("1 camera", "2 cameras")
        + 'Note: camera "sandbank" has only 3 marks: its digs get a place in the picture but none '
        "on the plan (4 marks or more, 8 are better).\n"
        'Note: camera "pond" has no marks: its digs get a place in the picture but none '
        "on the plan (4 marks or more, 8 are better).\n"
        'Note: camera "pond" has no nesting zone: no digs are looked for in its pictures.\n'
        + CAMERA.replace("4 marks", "3 marks")
        + "  the folder is empty; check it.\n"
        + 'Camera "pond": picture 640 x 360, looks at sand pen, 0 marks.\n'
        "  the folder is empty; check it.\n"
    )


def test_no_sunset_in_the_far_north(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    result = check(tmp_path, monkeypatch, footage(1), spoiled(("latitude = 47.2", "latitude = 70.5")))
    assert "the sun does not set, no sunrise." in result.stdout
