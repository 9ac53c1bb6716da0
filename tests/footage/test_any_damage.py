"""Whatever happens to a file's bytes: no traceback, a true account, frames in order."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from nestwatch.footage import Skim, find_footage, read_burst, read_pictures
from tests.footage.films import (
    FRAGMENTED,
    HEVC,
    INTRA_REFRESH,
    OPEN_GOP,
    START,
    camera,
    even,
    film,
    night,
    stamped,
)

KINDS = [
    pytest.param(".mp4", "libx264", None, None, id="mp4"),
    pytest.param(".mp4", "libx264", None, FRAGMENTED, id="fragmented-mp4"),
    pytest.param(".mkv", "libx264", OPEN_GOP, None, id="open-gop-mkv"),
    pytest.param(".mkv", "libx264", INTRA_REFRESH, None, id="intra-refresh-mkv"),
    pytest.param(".ts", "libx265", HEVC, None, id="hevc-ts"),
    pytest.param(".avi", "mpeg4", None, None, id="mpeg4-avi"),
    pytest.param(".avi", "mjpeg", None, None, id="mjpeg-avi"),
]
ROUNDS = 12


def harm(data: bytes, random: np.random.Generator) -> bytes:
    """Overwrite, blank, cut out or cut off up to six places."""
    harmed = bytearray(data)
    for _ in range(random.integers(1, 7)):
        at, length = int(random.integers(len(harmed) + 1)), int(random.choice([1, 8, 100, 5000]))
        length = min(length, len(harmed) - at)
        noise = random.integers(0, 256, length, dtype=np.uint8).tobytes()
        kind = random.choice(["noise", "noise", "blank", "out", "off"])
        harmed[at : at + length] = {"noise": noise, "blank": bytes(length)}.get(kind, b"")
        if kind == "off":
            del harmed[at:]
    return bytes(harmed)


@pytest.mark.parametrize(("ending", "codec", "options", "container"), KINDS)
def test_no_damage_breaks_the_account(
    tmp_path: Path,
    ending: str,
    codec: str,
    options: dict[str, str] | None,
    container: dict[str, str] | None,
) -> None:
    whole = film(tmp_path / f"whole{ending}", even(20), codec=codec, options=options, container=container)
    data, random = whole.read_bytes(), np.random.default_rng(11)
    path = stamped(tmp_path / "pond", ending=ending)
    path.parent.mkdir()
    for _ in range(ROUNDS):
        path.write_bytes(harm(data, random))
        check(path)


def check(path: Path) -> None:
    footage = find_footage(camera(path.parent), night(), "UTC", now=START + timedelta(days=3))
    assert footage.recordings or footage.unreadable
    skim = Skim(footage, every_s=2.0)
    frames = list(skim)
    account = skim.account()
    unseen = sum((gap.end - gap.start).total_seconds() for gap in account.gaps)
    assert account.seconds_read + unseen == pytest.approx(account.seconds_expected, abs=1e-3)
    assert sum(frame.shown_s for frame in frames) <= account.seconds_read + 1e-3
    assert [frame.at for frame in frames] == sorted({frame.at for frame in frames})
    assert all("\n" not in file.why for file in account.unreadable)
    assert np.all(np.diff(read_burst(footage, START + timedelta(seconds=8), 3.0, fps=5).times) > 0)
    assert len(list(read_pictures(footage, [START, START + timedelta(seconds=15)]))) == 2


@pytest.mark.footage
def test_real_clip_with_key_frames_25_s_apart(tmp_path: Path, real_footage) -> None:  # type: ignore[no-untyped-def]
    """vtest.avi: MS-MPEG-4, 10 frames a second, 79.5 s (ffprobe: 795 frames, 4 key frames)."""
    path = stamped(tmp_path, ending=".avi")
    path.write_bytes(real_footage("vtest.avi").read_bytes())
    skim = Skim(find_footage(camera(tmp_path, size=(768, 576)), night(), "UTC"))
    times = [frame.at - START.timestamp() for frame in skim]
    assert max(np.diff(times)) < 4.2
    assert len(times) >= 19
    assert skim.account().seconds_read == pytest.approx(79.5, abs=0.05)
