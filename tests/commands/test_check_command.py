"""`nestwatch check`: what is understood of a site file and found of footage, in words and as an exit code."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

import nestwatch.footage
import nestwatch.footage.doubts
from nestwatch.commands.main import main
from nestwatch.errors import FootageError
from nestwatch.footage.doubts import Lag
from nestwatch.footage.records import Footage, Recording, Unreadable
from nestwatch.site.records import Camera
from tests.footage.recordings import found_recording
from tests.site.sites import spoiled, written

START = datetime(2026, 6, 12, 14, tzinfo=UTC)

SITE = """\
The site file is in order: Linden Fen, European pond turtle, 1 camera.
Night of 2026-06-12: from 16:00 to 09:00, local time in Europe/Paris.
Digs are expected from 18:00 to 03:00; sunset 21:49, sunrise 05:57.
"""
WIDE = (
    'Note: camera "sandbank": marks alone leave places in the nesting zones unsure by up to 20 cm; one more '
    "stake near pixel (309, 431) would bring that to 5 cm.\n"
)
CAMERA = (
    WIDE
    + 'Camera "sandbank": picture 960 x 540, looks at sand pen, nesting sand bank, water pool, 4 marks.\n'
)


def recording(hour: float, hours: float) -> Recording:
    """A recording that starts `hour` hours into the night."""
    start = START + timedelta(hours=hour)
    return found_recording(Path("a.mp4"), start, seconds=hours * 3600, size=(1920, 1080), fps=15.0)


def footage(recordings: int, unreadable: int = 0, notes: tuple[str, ...] = ()) -> Footage:
    """Footage of one-hour recordings from 18:00 local time."""
    return Footage(
        camera="sandbank",
        folder=Path("footage/sandbank"),
        start=START,
        end=START + timedelta(hours=17),
        recordings=tuple(recording(2 + n, 1) for n in range(recordings)),
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
    result = check(tmp_path, monkeypatch, footage(9))
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout == (
        SITE + CAMERA + "  9 recordings of this night, from 18:00 to 03:00, 1920 x 1080 pixels.\n"
    )


def test_some_files_cannot_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    result = check(tmp_path, monkeypatch, footage(1, unreadable=5, notes=("The picture was scaled.",)))
    assert (result.exit_code, result.stderr) == (3, "")
    assert result.stdout == SITE + CAMERA + (
        "  1 recording of this night, from 18:00 to 19:00, 1920 x 1080 pixels.\n"
        "  Cannot be read: 0.mp4 (cut off).\n"
        "  Cannot be read: 1.mp4 (cut off).\n"
        "  Cannot be read: 2.mp4 (cut off).\n"
        "  Cannot be read: 2 more files.\n"
        "  The picture was scaled.\n"
        "  Nesting hours without a recording: from 19:00 to 03:00.\n"
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
        + CAMERA.removeprefix(WIDE).replace("4 marks", "3 marks")
        + "  the folder is empty; check it.\n"
        + 'Camera "pond": picture 640 x 360, looks at sand pen, 0 marks.\n'
        "  the folder is empty; check it.\n"
    )


def test_no_sunset_in_the_far_north(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    result = check(tmp_path, monkeypatch, footage(1), spoiled(("latitude = 47.2", "latitude = 70.5")))
    assert "the sun does not set, no sunrise." in result.stdout


def test_what_the_tape_said_and_what_is_left_of_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One side and one diagonal too many: each is told with what it misses the fit by (3-4-5 by hand)."""
    lengths = {("post_sw", "post_se"): 4, ("post_se", "post_ne"): 3, ("post_ne", "post_nw"): 4}
    lengths |= {("post_nw", "post_sw"): 3, ("post_sw", "post_ne"): 5, ("post_se", "post_nw"): 5}
    tapes = "".join(
        f'[[pen.tape]]\nbetween = ["{a}", "{b}"]\nlength = {metres}\n' for (a, b), metres in lengths.items()
    )
    bare = [(f"at = [{x}, {y}]\n", "") for x, y in ((0.0, 0.0), (4.2, 0.0), (4.2, 3.0), (0.0, 3.0))]
    text = spoiled(*bare, ("[[camera]]\n", tapes + "[[camera]]\n"))
    result = check(tmp_path, monkeypatch, footage(9), text)
    assert 'Pen "sand pen": 4 posts solved; the least known is ' in result.stdout
    assert '  "post_sw" to "post_ne": 5.00 m, fits to 0 mm.\n' in result.stdout
    assert result.exit_code == 0


def test_cameras_whose_clocks_differ(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    late = iter((timedelta(minutes=1), timedelta(minutes=18)))
    monkeypatch.setattr(nestwatch.footage.doubts, "lag_of", lambda found: Lag(found.camera, next(late)))
    second = '[[camera]]\nname = "pond"\nfootage = "pond"\npicture = [640, 360]\n'
    result = check(tmp_path, monkeypatch, footage(9), written(tmp_path).read_text(encoding="utf-8") + second)
    assert "seems 17 min ahead of that of" in result.stdout
    assert result.exit_code == 0
