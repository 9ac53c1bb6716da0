"""What the drawing page's server answers: stills, judgement of a drawing, saving, and every refusal."""

from __future__ import annotations

import io
import os
import shutil
import tomllib
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from flask.testing import FlaskClient
from PIL import Image

from nestwatch.desk.guard import TOKEN_HEADER, Guard
from nestwatch.desk.outline import outline_app
from nestwatch.desk.stills import Stills
from nestwatch.site import load_site, plan_map

HOST = "127.0.0.1:8123"
BASE = f"http://{HOST}"
NIGHT = "2026-06-12"
AT = 1781292600  # 2026-06-12 21:30 in Paris: GNU date --date='2026-06-12 21:30 +0200' +%s


class Asker:
    """A browser that was let in, without the browser."""

    def __init__(self, path: Path) -> None:
        self.guard = Guard({HOST})
        self.client: FlaskClient = outline_app(path)(self.guard).test_client()
        self.client.get(f"/start?token={self.guard.start_token}", base_url=BASE)

    def get(self, path: str) -> tuple[int, Any]:
        answer = self.client.get(path, base_url=BASE)
        return answer.status_code, answer.json if answer.is_json else answer.data

    def post(self, path: str, body: object) -> tuple[int, Any]:
        headers = {TOKEN_HEADER: self.guard.write_token}
        answer = self.client.post(path, base_url=BASE, headers=headers, json=body)
        return answer.status_code, answer.json

    def site(self) -> dict[str, Any]:
        code, site = self.get("/api/site")
        assert code == 200
        assert isinstance(site, dict)
        return site

    def drawing(self) -> dict[str, Any]:
        camera = self.site()["cameras"][0]
        return {"zones": camera["zones"], "marks": camera["marks"]}

    def save(self, drawing: object, seen: str | None = None) -> tuple[int, Any]:
        body = {"seen": self.site()["seen"] if seen is None else seen, "drawings": {"sandbank": drawing}}
        return self.post("/api/save", body)


@pytest.fixture
def ask(site_file: Path) -> Asker:
    return Asker(site_file)


def picture(data: bytes) -> np.ndarray[Any, Any]:
    return np.asarray(Image.open(io.BytesIO(data)).convert("L"), np.float64)


# Stills


def test_nights_and_the_strip(ask: Asker) -> None:
    assert ask.get("/api/camera/0/nights") == (200, [NIGHT])
    code, strip = ask.get(f"/api/camera/0/strip?night={NIGHT}")
    assert code == 200
    assert (strip["from"], strip["to"]) == (AT - 1800, AT + 7200)
    assert strip["recorded"] == [[AT - 1800, pytest.approx(AT + 7200, abs=30)]]
    assert strip["from"] < strip["sunset"] < strip["to"]
    assert ask.get("/api/camera/0/strip?night=2026-06-01")[1]["recorded"] == []


def test_a_still_is_the_recordings_picture(ask: Asker) -> None:
    code, data = ask.get(f"/api/camera/0/still?night={NIGHT}&at={AT}")
    assert code == 200
    assert picture(data).shape == (208, 352)
    assert picture(data).std() > 5


def test_the_averaged_still_has_less_noise(ask: Asker) -> None:
    """The median keeps what stands still: two medians are nearer to each other than two single pictures."""
    query = f"/api/camera/0/still?night={NIGHT}&averaged="
    singles = [picture(ask.get(f"{query}0&at={AT + shift}")[1]) for shift in (0, 3600)]
    medians = [picture(ask.get(f"{query}1&at={AT + shift}")[1]) for shift in (0, 3600)]
    ground = np.s_[60:200, 60:100]  # sand without an animal
    assert (
        np.abs(medians[0] - medians[1])[ground].mean() < 0.8 * np.abs(singles[0] - singles[1])[ground].mean()
    )


def test_a_time_without_recording(ask: Asker) -> None:
    code, told = ask.get(f"/api/camera/0/still?night=2026-06-01&at={AT}")
    assert (code, told) == (
        404,
        {"why": "Nothing was recorded then; move the slider to a time with a bar above it."},
    )


@pytest.mark.parametrize(
    ("path", "why"),
    [
        (f"/api/camera/0/still?night=../x&at={AT}", "the night is not readable; load the page again."),
        (f"/api/camera/0/still?night={NIGHT}&at=nan", "the time is not readable; load the page again."),
        (f"/api/camera/0/still?night={NIGHT}&at=1e400", "the time is not readable; load the page again."),
        (
            f"/api/camera/7/still?night={NIGHT}&at={AT}",
            "there is no such camera any more; load the page again.",
        ),
    ],
)
def test_odd_requests(ask: Asker, path: str, why: str) -> None:
    assert ask.get(path) == (409, {"why": why})


def test_footage_gone(ask: Asker, night_folder: Path) -> None:
    shutil.rmtree(night_folder / "footage")
    code, told = ask.get("/api/camera/0/nights")
    assert code == 409
    assert "the footage folder" in told["why"]
    assert "does not exist; correct `footage` in the site file or connect the disk." in told["why"]
    (night_folder / "footage" / "sandbank").mkdir(parents=True)
    assert "no video and no JPEG picture in" in ask.get("/api/camera/0/nights")[1]["why"]
    assert ask.save(ask.drawing())[0] == 200  # the drawing itself does not need it


def test_stills_are_kept_for_the_next_time(site_file: Path) -> None:
    stills = Stills(load_site(site_file))
    at = stills.strip(0, date(2026, 6, 12)).hours.nesting[0]
    first = stills.still(0, date(2026, 6, 12), at)
    assert first is not None
    assert stills.still(0, date(2026, 6, 12), at) is first


# Judging


def test_a_sound_drawing_has_its_plan(ask: Asker, site_file: Path) -> None:
    code, judged = ask.post("/api/camera/0/check", ask.drawing())
    assert (code, judged["mistakes"], judged["hints"]) == (200, [], [])
    assert ask.post("/api/camera/0/doubts", ask.drawing()) == (200, [])
    plan = judged["plan"]
    assert [mark["post"] for mark in plan["marks"]][:2] == ["post_ne", "post_nw"]
    assert all(mark["off_m"] < 0.02 for mark in plan["marks"])
    assert plan["fit"].startswith(
        "10 marks tie the picture to the plan (with the lens corrected); they agree to "
    )
    site = load_site(site_file)
    fitted = plan_map(site, site.cameras[0])
    assert fitted is not None
    zone = site.cameras[0].zones[0]
    assert plan["zones"][0]["outline"][::8] == [
        pytest.approx(p, abs=1e-3) for p in fitted.to_plan(zone.outline).tolist()
    ]
    middle = next(cell for cell in plan["shade"] if cell["level"] == 0)
    assert np.mean(middle["quad"], axis=0) == pytest.approx([1, 1], abs=1.2)


def test_residuals_are_the_distance_to_the_post(ask: Asker) -> None:
    """A mark moved by 30 px stands out and is named. Least squares spreads a mistake over all marks: what is
    left at its own is less than 30 px, but more than two clicks of 2 px."""
    drawing = ask.drawing()
    drawing["marks"][5]["pixel"][0] += 30
    del drawing["marks"][7:9]  # fewer marks, less to try
    judged = ask.post("/api/camera/0/check", drawing)[1]
    off = {mark["post"]: mark["off_px"] for mark in judged["plan"]["marks"]}
    assert max(off, key=lambda post: off[post]) == "stake_1"
    assert 4 < off["stake_1"] < 30
    moved = next(mark for mark in judged["plan"]["marks"] if mark["post"] == "stake_1")
    assert moved["off_m"] == pytest.approx(np.hypot(*np.subtract(moved["seen"], [0.78, 0.735])), abs=1e-3)
    doubts = ask.post("/api/camera/0/doubts", drawing)[1]
    assert len(doubts) == 1
    assert doubts[0].startswith('"stake_1" does not fit the other marks: by the others it should be near (11')


def spoiled_zone(corners: list[list[float]]) -> Callable[[dict[str, Any]], None]:
    def spoil(drawing: dict[str, Any]) -> None:
        drawing["zones"][1]["outline"] = corners

    return spoil


def swapped(drawing: dict[str, Any]) -> None:
    marks = [m for m in drawing["marks"] if m["post"] in {"post_nw", "post_e", "stake_1", "stake_5"}]
    marks[1]["pixel"], marks[2]["pixel"] = marks[2]["pixel"], marks[1]["pixel"]
    drawing["marks"] = marks


def on_a_line(drawing: dict[str, Any]) -> None:
    drawing["marks"] = [
        {"post": post, "pixel": [50 + 60 * n, 100]}
        for n, post in enumerate(["post_ne", "post_nw", "post_w", "post_e"])
    ]


def outside(drawing: dict[str, Any]) -> None:
    drawing["marks"][3]["pixel"] = [-20, 900]


def unknown_post(drawing: dict[str, Any]) -> None:
    drawing["marks"][3]["post"] = "post_wv"


def one_name_twice(drawing: dict[str, Any]) -> None:
    drawing["zones"][1]["name"] = "Sand"


def bad_name(drawing: dict[str, Any]) -> None:
    drawing["zones"][1]["name"] = "a/b"


CROSSING: list[list[float]] = [[10, 10], [90, 90], [90, 10], [10, 90]]
TINY: list[list[float]] = [[10, 10], [12, 10], [12, 12]]
OUTSIDE: list[list[float]] = [[10, 10], [500, 10], [12, 90]]
MISTAKES = {
    "crossing": (spoiled_zone(CROSSING), "Zone pond: crosses or touches itself near (50, 50);", {"zone": 1}),
    "tiny": (spoiled_zone(TINY), "Zone pond: holds only 2 square pixels, at least 64 are", {"zone": 1}),
    "two corners": (spoiled_zone(TINY[:2]), "Zone pond: has 2 different corners but needs at", {"zone": 1}),
    "outside": (
        spoiled_zone(OUTSIDE),
        "Zone pond, corner 2: (500, 10) lies outside the picture of 352 x 208 pixels",
        {"zone": 1, "corner": 1},
    ),
    "one name twice": (one_name_twice, 'Zone Sand: "Sand" is already the name of another zone', {"zone": 1}),
    "bad name": (bad_name, "Zone a/b: \"a/b\" holds '/'", {"zone": 1}),
    "swapped": (swapped, "two posts are probably swapped", {}),
    "on a line": (on_a_line, "lie on one line in the picture", {}),
    "mark outside": (outside, "Mark post_w: (-20, 900) lies outside the picture", {"mark": 3}),
    "unknown post": (unknown_post, 'Mark post_wv: pen "sand pen" has no post "post_wv"; did', {"mark": 3}),
}


@pytest.mark.parametrize(("spoil", "text", "place"), MISTAKES.values(), ids=MISTAKES)
def test_each_mistake_is_named_and_cannot_be_saved(
    ask: Asker, site_file: Path, spoil: Callable[[dict[str, Any]], None], text: str, place: dict[str, int]
) -> None:
    drawing, before = ask.drawing(), site_file.read_bytes()
    spoil(drawing)
    mistakes = ask.post("/api/camera/0/check", drawing)[1]["mistakes"]
    found = [one for one in mistakes if text in one["text"]]
    assert len(found) == 1, mistakes
    assert {key: found[0][key] for key in ("zone", "corner", "mark") if found[0][key] is not None} == place
    code, told = ask.save(drawing)
    assert code == 409
    assert told["why"].startswith("Nothing is saved yet. ")
    assert site_file.read_bytes() == before
    assert sorted(path.name for path in site_file.parent.iterdir()) == ["footage", "site.toml", "truth.json"]


def test_what_is_missing_is_said_and_may_be_saved(ask: Asker, site_file: Path) -> None:
    empty: dict[str, Any] = {"zones": [], "marks": []}
    judged = ask.post("/api/camera/0/check", empty)[1]
    assert judged["mistakes"] == []
    assert judged["hints"][0].startswith("Draw a nesting zone: without one no digs are looked for")
    assert judged["hints"][1].startswith("Mark 4 more posts for places on the plan")
    assert ask.save(empty)[0] == 200
    assert "zone" not in tomllib.loads(site_file.read_text(encoding="utf-8"))["camera"][0]
    assert ask.site()["cameras"][0]["zones"] == []  # and the page still opens


def test_advice_where_a_stake_helps(ask: Asker) -> None:
    drawing = ask.drawing()
    drawing["marks"] = [
        mark for mark in drawing["marks"] if mark["post"] in {"post_nw", "post_n", "stake_3", "stake_4"}
    ]
    plan = ask.post("/api/camera/0/check", drawing)[1]["plan"]
    assert plan["fit"].startswith(
        "4 marks tie the picture to the plan (without correcting the lens); four always fit"
    )
    assert plan["next"]["pixel"][1] > 120  # the near part of the sand, far from those four
    assert "One more stake here would help most" in plan["next"]["words"]
    assert "nine tenths of the nesting zones would be known to" in plan["next"]["words"]


@pytest.mark.parametrize(
    "body",
    [
        None,
        [],
        {},
        {"zones": {}, "marks": []},
        {"zones": [{"name": "a", "kind": "lava", "outline": []}], "marks": []},
        {"zones": [{"name": "a", "kind": "water", "outline": [[1, "x"]]}], "marks": []},
        {"zones": [{"name": "a", "kind": "water", "outline": [[1, 2, 3]]}], "marks": []},
        {"zones": [{"name": "a" * 300, "kind": "water", "outline": []}], "marks": []},
        {"zones": [{"name": "a", "kind": "water", "outline": [[1, 1]] * 500}], "marks": []},
        {"zones": [], "marks": [{"post": 3, "pixel": [1, 1]}]},
        {"zones": [], "marks": [{"post": "a", "pixel": [True, 1]}]},
        {"zones": [], "marks": [{"post": "a", "pixel": [1, 1]}] * 300},
    ],
)
def test_what_is_no_drawing_is_refused_in_words(ask: Asker, body: object) -> None:
    code, told = ask.post("/api/camera/0/check", body)
    assert code == 409
    assert "page" in told["why"]


# Saving


def test_saving_writes_what_was_drawn(ask: Asker, site_file: Path) -> None:
    before = site_file.read_bytes()
    drawing = ask.drawing()
    drawing["zones"][0]["outline"][0] = [250.25, 200]
    code, told = ask.save(drawing)
    assert (code, told["kept"]) == (200, "site.toml.before-1")
    assert (site_file.parent / "site.toml.before-1").read_bytes() == before
    assert load_site(site_file).cameras[0].zones[0].outline[0] == (250.2, 200.0)
    assert told["seen"] == ask.site()["seen"]


def test_a_file_changed_meanwhile_is_refused(ask: Asker, site_file: Path) -> None:
    seen, drawing = ask.site()["seen"], ask.drawing()
    drawing["zones"][0]["name"] = "bank"
    changed = site_file.read_text(encoding="utf-8").replace("Invented night", "My night")
    site_file.write_text(changed, encoding="utf-8")
    code, told = ask.save(drawing, seen)
    assert code == 409
    assert "was changed by another program since the page was opened, so nothing is saved" in told["why"]
    assert site_file.read_text(encoding="utf-8") == changed


def test_a_file_edited_to_nonsense_is_refused(ask: Asker, site_file: Path) -> None:
    seen, drawing = ask.site()["seen"], ask.drawing()
    site_file.write_text("format = [", encoding="utf-8")
    code, told = ask.save(drawing, seen)
    assert code == 409
    assert told["why"].startswith(
        "Nothing is saved, because the site file was changed and cannot be read any more: "
    )
    assert "is not valid TOML" in told["why"]
    assert site_file.read_text(encoding="utf-8") == "format = ["
    site_file.unlink()
    assert "there is no such file" in ask.save(drawing, seen)[1]["why"]


def test_a_read_only_site(ask: Asker, site_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = site_file.read_bytes()
    drawing = ask.drawing()
    drawing["marks"].pop()
    monkeypatch.setattr(os, "access", lambda *_: False)  # root may write anyway
    code, told = ask.save(drawing)
    assert (code, "is read-only; allow writing to it, then save again." in told["why"]) == (409, True)
    assert site_file.read_bytes() == before


def test_a_camera_taken_out_meanwhile(ask: Asker) -> None:
    code, told = ask.post(
        "/api/save", {"seen": ask.site()["seen"], "drawings": {"roof": {"zones": [], "marks": []}}}
    )
    assert (code, told["why"]) == (
        409,
        'there is no camera "roof" in the site file any more; load the page again.',
    )


def test_two_cameras_with_one_name(site_file: Path) -> None:
    text = site_file.read_text(encoding="utf-8")
    camera = text[text.index("[[camera]]") : text.index("[[camera.zone]]")]
    site_file.write_text(text + camera.replace('"sandbank"', '"Sandbank"'), encoding="utf-8")
    code, page = Asker(site_file).get("/")
    assert code == 409
    assert "is already the name of another camera; change one" in page.decode()


def test_names_in_the_site_file_are_no_html(site_file: Path) -> None:
    text = site_file.read_text(encoding="utf-8").replace(
        "Invented night: sample", "<script>alert(1)</script>"
    )
    site_file.write_text(text, encoding="utf-8")
    code, page = Asker(site_file).get("/")
    assert code == 200
    assert b"<script>alert" not in page
    assert b"&lt;script&gt;alert" in page
