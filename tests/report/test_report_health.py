"""A camera's health and the judged zone: in the night file, in the first lines, on the page, as a picture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from nestwatch.footage.records import Footage
from nestwatch.ground.health_records import Finding, What
from nestwatch.report import load_camera, night_document, night_page, save_camera, summary_lines
from nestwatch.report.health import finding_words
from nestwatch.report.health_picture import hatched, seen_picture, zone_shaded
from nestwatch.report.records import CameraNight, ZoneSeen
from nestwatch.report.store import files_of
from tests.report.scenes import PICTURE, a_camera, a_night, a_site, local, some_footage, some_hours

WHATS: tuple[What, ...] = (
    "moved",
    "sagged",
    "lost",
    "dark",
    "frozen",
    "glare",
    "fogged",
    "blurred",
    "covered",
    "burnt",
)


def a_finding(what: What, start: str = "23:10", end: str = "23:52", amount: float = 0.3) -> Finding:
    return Finding(what, local(start), local(end), amount)


def ill(*findings: Finding, minutes: float = 540.0, picture: str | None = None) -> CameraNight:
    """The night of one camera with `minutes` of its 540 of nesting time judged."""
    return replace(
        a_night("sandbank", looked_min=minutes),
        health=findings,
        zone_seen=ZoneSeen(minutes, 540.0, picture),
    )


def document(night: CameraNight) -> dict[str, Any]:
    return night_document(a_site(cameras=("sandbank",)), some_hours(), [night], [], "0")


def lines(night: CameraNight) -> tuple[str, ...]:
    return summary_lines(a_site(cameras=("sandbank",)), some_hours(), document(night))


def test_the_night_file_tells_what_when_and_what_to_do() -> None:
    entry = document(ill(a_finding("dark"), minutes=498.0))["footage"][0]
    assert entry["health"] == [
        {
            "what": "dark",
            "from": "2026-06-12T23:10:00+02:00",
            "to": "2026-06-12T23:52:00+02:00",
            "words": "dark: check the infrared lamp and its power",
        }
    ]
    assert entry["zone_seen"] == {"minutes": 498.0, "of_minutes": 540.0, "share": 0.9222, "picture": None}


def test_a_camera_without_recording_saw_nothing_of_its_zone() -> None:
    other = night_document(a_site(), some_hours(), [ill()], [], "0")["footage"][1]
    assert other["zone_seen"] == {"minutes": 0.0, "of_minutes": 540.0, "share": 0.0, "picture": None}


def test_a_zone_that_was_not_measured_is_unknown() -> None:
    assert document(a_night("sandbank"))["footage"][0]["zone_seen"] is None


def test_what_could_not_be_judged_is_told_first_with_its_cause() -> None:
    told = lines(ill(a_finding("frozen"), minutes=498.0))
    assert "Not clear enough to judge: sandbank, 42 min of nesting time (frozen picture 23:10–23:52)." in told
    assert not any(line.startswith("No dig found in the") for line in told)
    assert any("the rest is unknown" in line for line in told)


def test_a_knock_that_hid_nothing_asks_to_look_at_the_camera() -> None:
    told = lines(ill(a_finding("moved", "01:12", "01:13", 7.0)))
    assert "Check the camera: sandbank moved 01:12." in told
    assert any(line.startswith("No dig found in the") for line in told)


def test_trouble_outside_nesting_hours_is_kept_out_of_the_first_lines() -> None:
    told = lines(ill(a_finding("fogged", "05:00", "06:00")))
    assert not any("fogged" in line for line in told)


def test_many_causes_are_cut_short() -> None:
    found = [a_finding("dark", f"2{n}:10", f"2{n}:30") for n in range(4)]
    told = next(line for line in lines(ill(*found, minutes=460.0)) if line.startswith("Not clear"))
    assert told.endswith("20:10–20:30; dark 21:10–21:30; dark 22:10–22:30; 1 more).")


@pytest.mark.parametrize("what", WHATS)
def test_every_finding_has_words_that_say_what_to_do(what: What) -> None:
    told = finding_words(a_finding(what, amount=0.3))
    assert "{" not in told
    assert any(verb in told for verb in ("check", "redraw", "restart", "wipe", "find the light"))


def test_a_shift_is_told_in_pixels_and_on_the_ground() -> None:
    assert "about 7 px (4 cm on the ground)" in finding_words(a_finding("moved", amount=7.2), 0.5)
    assert "about 7 px:" in finding_words(a_finding("moved", amount=7.2), None)


def test_the_page_shows_findings_and_the_picture(tmp_path: Path) -> None:
    (tmp_path / "pictures").mkdir()
    (tmp_path / "pictures" / "sandbank-seen.jpg").write_bytes(b"\xff\xd8picture")
    night = ill(a_finding("covered"), minutes=400.0, picture="pictures/sandbank-seen.jpg")
    page = night_page(a_site(cameras=("sandbank",)), some_hours(), document(night), tmp_path)
    assert "about 30 % of the nesting zone hidden by something on or close to the lens" in page
    assert "6 h 40 min of 9 h judged" in page
    assert page.count("data:image/jpeg;base64") == 1


def test_a_kept_night_carries_health_and_is_done_again_when_its_picture_is_gone(tmp_path: Path) -> None:
    night = ill(a_finding("sagged", amount=5.5), picture="pictures/sandbank-seen.jpg")
    (tmp_path / "pictures").mkdir()
    (tmp_path / "pictures" / "sandbank-seen.jpg").write_bytes(b"x")
    save_camera(tmp_path, night, "key")
    assert load_camera(tmp_path, "sandbank", "key") == night
    assert files_of(night) == ["pictures/sandbank-seen.jpg"]
    (tmp_path / "pictures" / "sandbank-seen.jpg").unlink()
    assert load_camera(tmp_path, "sandbank", "key") is None


GREY = np.full((360, 640, 3), 120, np.uint8)


def test_hatching_is_denser_the_less_was_seen_and_needs_no_colour() -> None:
    share = np.zeros((360, 640))
    share[:, 200:400], share[:, 400:] = 0.3, 0.9
    image = hatched(GREY, share)
    assert (image[:, :200] == 120).all()
    light = [float((image[:, part] > 200).mean()) for part in (np.s_[200:400], np.s_[400:640])]
    assert 0.1 < light[0] < 0.25 < light[1]
    assert (image == image[:, :, :1]).all()


def test_only_the_zone_is_hatched_and_only_where_it_was_not_judged() -> None:
    zone = a_camera("sandbank").zones_of("nesting")
    unseen = np.zeros((2, 2))
    unseen[:, 1] = 1.0
    rng = np.random.default_rng(1)
    still = rng.integers(60, 200, (540, 960, 1), np.uint8).repeat(3, axis=2)
    plain, shaded = (
        zone_shaded(still, share, (0, 0, *PICTURE), zone, PICTURE)[:360].astype(int)
        for share in (np.zeros((2, 2)), unseen)
    )
    changed = np.any(plain != shaded, axis=2)
    assert not changed[:, :318].any()
    assert not changed[:30].any()
    assert changed[100:250, 330:450].mean() > 0.9


class Still:
    """A camera that has one frame, at an instant."""

    def __init__(self, frame: NDArray[np.uint8] | None) -> None:
        self.frame = frame

    def __call__(
        self, footage: Footage, times: Sequence[datetime], *, width: int | None = None, reach_s: float = 30.0
    ) -> Iterator[NDArray[np.uint8] | None]:
        return iter([self.frame for _ in times])


def test_the_picture_is_a_jpeg_with_a_legend_below(tmp_path: Path) -> None:
    footage = some_footage(tmp_path)
    zones = a_camera("sandbank").zones_of("nesting")
    given = (footage, np.ones((3, 4)), (0.0, 0.0, 960.0, 540.0), zones, PICTURE)
    name = seen_picture(*given, [local("23:00")], tmp_path, read=Still(GREY))
    assert name == "pictures/sandbank-seen.jpg"
    image = cv2.imdecode(np.frombuffer((tmp_path / name).read_bytes(), np.uint8), cv2.IMREAD_COLOR)
    assert image is not None
    assert image.shape[1] == 640
    assert image.shape[0] > 360
    assert image[360:].mean() > 200  # dark words on white
    assert seen_picture(*given, [local("23:00")], tmp_path, read=Still(None)) is None
    assert seen_picture(*given, [], tmp_path, read=Still(GREY)) is None
