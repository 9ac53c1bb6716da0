"""The desk's answers, without a browser: what it shows, what it writes, and whom and what it refuses."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from nestwatch.desk.guard import LARGEST_BODY, TOKEN_HEADER, Guard
from nestwatch.desk.morning import morning_app
from nestwatch.season.clutches import clutch_of
from nestwatch.season.digs import dig_called
from nestwatch.season.females import females
from nestwatch.season.journal import actions
from nestwatch.season.open import Record, open_record
from nestwatch.season.records import Dig
from nestwatch.site import load_site
from nestwatch.site.records import Site
from tests.desk.mornings import MORNING, NEXT_MORNING, NIGHT, a_dig, footage_entry, three_digs, write_night

HOST = "127.0.0.1:8123"
BASE = f"http://{HOST}"


class Desk:
    """One desk, let in."""

    def __init__(self, site: Site, at: datetime = MORNING) -> None:
        self.guard = Guard({HOST})
        self.client: FlaskClient = morning_app(site, site.path.parent / "nights", clock=lambda: at)(
            self.guard
        ).test_client()
        self.get(f"/start?token={self.guard.start_token}")

    def get(self, path: str, **more: Any) -> TestResponse:
        return self.client.get(path, base_url=BASE, buffered=True, **more)

    def post(self, path: str, body: object, **more: Any) -> TestResponse:
        headers = {TOKEN_HEADER: self.guard.write_token} | more.pop("headers", {})
        return self.client.post(path, base_url=BASE, json=body, headers=headers, **more)

    def find(self, dig: Dig, found: str, **more: Any) -> TestResponse:
        seen = 0 if dig.find is None else dig.find.version
        return self.post(f"/api/dig/{dig.id}/find", {"found": found, "seen": seen} | more)


@pytest.fixture
def site(site_file: Path) -> Site:
    write_night(site_file.parent, three_digs())
    return load_site(site_file)


@pytest.fixture
def desk(site: Site) -> Desk:
    """A desk whose page was loaded once, so that the night is in the record."""
    made = Desk(site)
    assert made.get("/").status_code == 200
    return made


@pytest.fixture
def record(site: Site) -> Iterator[Record]:
    with open_record(site, clock=lambda: MORNING) as opened:
        yield opened


def why(answer: TestResponse) -> str:
    """Why it was refused."""
    assert answer.json is not None
    return str(answer.json["why"])


def dig(record: Record, label: str) -> Dig:
    return dig_called(record, NIGHT, label)


def rows(page: str) -> list[str]:
    """The labels of the listed digs, in their order."""
    return re.findall(r'class="row-what"><strong>(\w+)</strong>', page)


def current(page: str) -> str:
    found = re.search(r'<span class="rank">(\w+)</span>', page)
    return found.group(1) if found else "none"


def test_what_was_not_seen_stands_before_the_digs(desk: Desk) -> None:
    page = desk.get("/").text
    told = ("Not seen: sandbank 23:00–23:10 (no recording)", "fogged 22:10–22:22", 'class="dig"')
    places = [page.index(text) for text in told]
    assert places == sorted(places)
    assert "wipe the lens if it stays so" in page


def test_raids_and_clocks_stand_above_the_digs(site_file: Path) -> None:
    raid = {"words": "RAID? A larger animal was at the nest of dig 1."}
    clock = {"words": 'Clocks: camera "sandbank" runs 42 s ahead of "other".'}
    write_night(site_file.parent, three_digs(), raids=[raid], clocks=[clock])
    page = Desk(load_site(site_file)).get("/").text
    told = ("RAID? A larger animal", "Not seen: ", "runs 42 s ahead of", 'class="dig"')
    places = [page.index(text) for text in told]
    assert places == sorted(places)


def test_a_night_that_was_not_read_is_not_called_empty(site_file: Path) -> None:
    page = Desk(load_site(site_file)).get("/").text
    assert "NOTHING CAN BE SAID: the night of 2026-06-12 was not read" in page
    assert "That means nothing: look at the ground yourself." in page
    assert "counts only for what was seen" not in page


def test_a_blind_camera_is_not_called_empty(site_file: Path) -> None:
    blind = footage_entry(seconds_read=0.0, nesting_seconds_read=0.0, looked_min=0.0, zone_seen=None)
    write_night(site_file.parent, [], footage=[blind])
    page = Desk(load_site(site_file)).get("/").text
    assert "NOTHING CAN BE SAID: no camera saw anything" in page
    assert "That means nothing" in page


def test_best_first_and_rests_apart(desk: Desk) -> None:
    page = desk.get("/").text
    assert rows(page) == ["1", "2", "3", "4"]
    assert current(page) == "1"
    assert page.index("Looked at and set aside: 1") < page.index("<strong>4</strong>")


def test_hours_since_laying(desk: Desk) -> None:
    """Laid from 22:05 (half of 21:20 to 22:50, by the fixture), shown at 06:10: 8 h 05 min by hand."""
    assert "Laid about 22:05–22:32, 8 h 05 min ago" in desk.get("/").text


def test_the_next_one_comes_up(desk: Desk, record: Record) -> None:
    first = dig(record, "1")
    answer = desk.find(first, "eggs")
    assert answer.json == {
        "said": "Entered for dig 1 of the night of 2026-06-12: eggs.",
        "dig": first.id,
        "night": "2026-06-12",
    }
    assert current(desk.get(f"/?after={first.id}").text) == "2"
    desk.find(dig(record, "3"), "not-yet")
    desk.find(dig(record, "2"), "empty")
    page = desk.get(f"/?after={dig(record, '2').id}").text
    assert current(page) == "none"  # what was left for later today does not come up again today
    assert "1 is not dug yet and will stand at the top again" in page


def test_what_is_not_dug_stays_on_top(desk: Desk, record: Record, site: Site, site_file: Path) -> None:
    for label, found in (("1", "eggs"), ("2", "empty"), ("3", "not-yet")):
        desk.find(dig(record, label), found)
    night = NIGHT + timedelta(days=1)
    write_night(site_file.parent, [a_dig(1, "22:00", "23:00", night=night)], night)
    page = Desk(site, NEXT_MORNING).get("/").text
    assert rows(page) == ["3", "1"]
    assert current(page) == "3"
    assert "Laid about 22:50–23:02, 31 h 20 min ago" in page  # 22:50 to 06:10 on the second morning, by hand


def test_setting_aside_needs_a_reason(desk: Desk, record: Record) -> None:
    answer = desk.find(dig(record, "2"), "set-aside", why="  ")
    assert answer.status_code == 400
    assert "say why it is set aside" in why(answer)
    assert desk.find(dig(record, "2"), "set-aside", why="a hedgehog").status_code == 200
    found = dig(record, "2").find
    assert found is not None
    assert (found.found, found.why) == ("set-aside", "a hedgehog")


def test_two_desks_do_not_overwrite_each_other(desk: Desk, site: Site, record: Record) -> None:
    shown = dig(record, "1")
    assert Desk(site).find(shown, "empty").status_code == 200
    late = desk.find(shown, "eggs")
    assert late.status_code == 409
    assert "Nothing was entered: this was changed meanwhile, and is now: empty. Look again" in why(late)
    assert late.json["changed"] is True  # type: ignore[index]
    assert dig(record, "1").find is not None
    assert dig(record, "1").find.found == "empty"  # type: ignore[union-attr]
    assert desk.find(dig(record, "1"), "eggs").status_code == 200  # having looked again


def test_two_desks_and_one_clutch(desk: Desk, site: Site, record: Record) -> None:
    where = f"/api/dig/{dig(record, '1').id}/clutch"
    assert Desk(site).post(where, {"whole": 9, "seen": 0}).status_code == 200
    late = desk.post(where, {"whole": 7, "seen": 0})
    assert late.status_code == 409
    assert "is now: 9 eggs: 9 whole" in why(late)
    clutch = clutch_of(record, dig(record, "1").id)
    assert clutch is not None
    assert clutch.eggs.total == 9


def test_taking_back_names_its_entry(desk: Desk, record: Record) -> None:
    desk.find(dig(record, "1"), "empty")
    desk.find(dig(record, "2"), "eggs")
    last = actions(record)[0]
    assert f'data-undo="{last.id}"' in desk.get("/").text
    assert desk.post("/api/undo", {"entry": last.id}).json == {"said": "Taken back: 2026-06-12 dig 2: eggs."}
    assert dig(record, "2").find is None
    assert dig(record, "1").find is not None
    again = desk.post("/api/undo", {"entry": last.id})
    assert again.status_code == 400
    assert "was taken back already" in why(again)


def test_the_clutch_as_it_is_typed(desk: Desk, record: Record) -> None:
    """06:00 at the site in June is 04:00 UTC (CEST, tz database)."""
    body = {"whole": 8, "cracked": 1, "female": "", "new_female": "Ada", "lifted": "06:00", "seen": 0}
    answer = desk.post(f"/api/dig/{dig(record, '1').id}/clutch", body)
    assert answer.status_code == 200
    clutch = clutch_of(record, dig(record, "1").id)
    assert clutch is not None
    assert (clutch.eggs.whole, clutch.eggs.cracked, clutch.eggs.total, clutch.female) == (8, 1, 9, "Ada")
    assert clutch.lifted_at is not None
    assert clutch.lifted_at.isoformat() == "2026-06-13T04:00:00+00:00"
    assert "9 eggs: 8 whole, 1 cracked; of Ada; lifted 2026-06-13 06:00" in desk.get("/").text


@pytest.mark.parametrize(
    ("body", "told"),
    [
        ({"whole": 12000}, "12000 whole eggs cannot be"),
        ({"whole": -1}, "-1 whole eggs cannot be"),
        ({"whole": 1.5}, "is no whole number"),
        ({"lifted": "2026-06-12 20:00"}, "eggs cannot be lifted before they are laid"),
        ({"lifted": "2026-06-14 06:00"}, "that lifting is still to come"),
        ({"lifted": "soon"}, '"soon" is no time'),
        ({"female": "Nobody"}, 'there is no female "Nobody"'),
    ],
)
def test_a_clutch_that_cannot_be(desk: Desk, record: Record, body: dict[str, Any], told: str) -> None:
    answer = desk.post(f"/api/dig/{dig(record, '1').id}/clutch", {"seen": 0} | body)
    assert answer.status_code == 400
    assert told in why(answer)
    assert clutch_of(record, dig(record, "1").id) is None


def test_an_unlikely_clutch_is_asked_about(desk: Desk, record: Record) -> None:
    """The sample's site file says 5 to 17 eggs."""
    where = f"/api/dig/{dig(record, '1').id}/clutch"
    body = {"whole": 60, "new_female": "Ada", "seen": 0}
    asked = desk.post(where, body)
    assert (asked.status_code, asked.json["doubtful"]) == (422, True)  # type: ignore[index]
    assert "5 to 17" in why(asked)
    assert "--sure" not in why(asked)
    assert desk.post(where, body | {"sure": True}).status_code == 200
    assert [each.name for each in females(record)] == ["Ada"]


def test_a_dig_added_from_footage(desk: Desk, record: Record) -> None:
    """The place is the mapping's: stake_5 of the site file stands at (1.95, 1.575), pixel (259.8, 69.4)."""
    body = {
        "source": "footage",
        "camera": "sandbank",
        "pixel": [259.8, 69.4],
        "from": "2026-06-12T20:50:00Z",
        "to": "23:10",
    }
    answer = desk.post("/api/night/2026-06-12/dig", body)
    assert answer.json is not None
    assert answer.json["said"] == "Added: dig A of the night of 2026-06-12."
    added = dig(record, "A")
    assert added.plan_m == pytest.approx((1.95, 1.575), abs=0.05)
    assert (added.start.isoformat(), added.end.isoformat()) == (
        "2026-06-12T20:50:00+00:00",
        "2026-06-12T21:10:00+00:00",
    )
    page = desk.get("/").text
    assert rows(page) == ["1", "2", "3", "A", "4"]
    assert "Added by hand from footage" in page


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"pixel": [9999, 10]}, "outside the picture"),
        ({"pixel": None}, "needs its place in the picture"),
        ({"pixel": ["a", 1]}, "is no place"),
        ({"camera": "other"}, 'no camera "other"'),
        ({"to": "21:00"}, "ends before it begins"),
        ({"to": ""}, "needs the times"),
        ({"source": "scan"}, "from footage, by eye or found"),
    ],
)
def test_a_dig_that_cannot_be(desk: Desk, record: Record, changes: dict[str, Any], told: str) -> None:
    body = {"source": "footage", "camera": "sandbank", "pixel": [250, 150], "from": "22:50", "to": "23:10"}
    answer = desk.post("/api/night/2026-06-12/dig", body | changes)
    assert answer.status_code == 400
    assert told in why(answer)
    assert rows(desk.get("/").text) == ["1", "2", "3", "4"]


def test_the_same_dig_twice_is_asked_about(desk: Desk, record: Record) -> None:
    same = dig(record, "1")
    assert same.pixel is not None
    body = {
        "source": "footage",
        "camera": "sandbank",
        "pixel": list(same.pixel),
        "from": "21:20",
        "to": "22:50",
    }
    assert desk.post("/api/night/2026-06-12/dig", body).status_code == 422


def test_a_dig_seen_by_eye_in_a_night_that_was_not_read(desk: Desk) -> None:
    body = {"source": "eye", "from": "21:50", "to": "22:30", "pen": "sand pen", "plan": [1.0, 0.5]}
    assert desk.post("/api/night/2026-06-10/dig", body).status_code == 200
    page = desk.get("/night/2026-06-10").text
    assert "Seen by eye" in page
    assert "NOTHING CAN BE SAID" in page
    assert rows(desk.get("/").text)[0] == "A"  # and it waits at the top of the morning


def test_the_calendar_in_words(desk: Desk, record: Record, site_file: Path) -> None:
    blind = footage_entry(
        NIGHT - timedelta(days=1), seconds_read=0.0, nesting_seconds_read=0.0, looked_min=0.0, zone_seen=None
    )
    write_night(site_file.parent, [], NIGHT - timedelta(days=1), footage=[blind])
    desk.find(dig(record, "1"), "eggs")
    page = desk.get("/nights/2026-06").text
    assert 'aria-label="2026-06-12: 1 nest, 2 still to be settled, part of the night not seen"' in page
    assert 'aria-label="2026-06-11: no usable footage"' in page
    assert 'aria-label="2026-06-10: nothing recorded here"' in page


def test_media_by_what_the_record_names(desk: Desk, record: Record, site_file: Path) -> None:
    first = dig(record, "1")
    folder = site_file.parent / "nights" / "2026-06-12"
    for name in ("before", "during", "after", "overview"):
        answer = desk.get(f"/dig/{first.id}/{name}.jpg")
        assert (answer.mimetype, answer.data) == (
            "image/jpeg",
            (folder / str(first.pictures[name])).read_bytes(),
        )
    clip = desk.get(f"/dig/{first.id}/clip.mp4", headers={"Range": "bytes=0-9"})
    assert (clip.status_code, clip.mimetype, len(clip.data)) == (206, "video/mp4", 10)  # RFC 9110 14.4
    known = {"If-None-Match": clip.headers["ETag"]}
    assert desk.get(f"/dig/{first.id}/clip.mp4", headers=known).status_code == 304  # RFC 9110 13.1.2
    assert desk.get("/night/2026-06-12/seen/0.jpg").status_code == 200
    assert desk.get("/night/2026-06-12/seen/1.jpg").status_code == 404


@pytest.mark.parametrize(
    "path",
    [
        "/dig/1/../../../site.toml",
        "/dig/1/..%2F..%2F..%2Fsite.toml",
        "/dig/1/%2e%2e/%2e%2e/site.toml",
        "/dig/1/%252e%252e%252fsite.toml",
        "/dig/1//etc/passwd",
        "/dig/1/C:%5CWindows%5Cwin.ini",
        "/dig/99999999999999999999999/during.jpg",
        "/dig/-1/during.jpg",
        "/dig/1/during.jpg%00.mp4",
        "/night/..%2F..%2F/marking.html",
        "/night/2026-06-12%2F..%2F../marking.pdf",
        "/night/%2Fetc/seen/0.jpg",
        "/static/..%2Fguard.py",
        "/static/%2e%2e/guard.py",
        "/static//etc/passwd",
        "/night/9999-12-31/add",
        "/nights/0-13",
    ],
)
def test_path_tricks(desk: Desk, path: str) -> None:
    answer = desk.get(path)
    assert answer.status_code in {308, 400, 404, 409}
    assert "[site]" not in answer.text
    assert "root:" not in answer.text


@pytest.mark.parametrize(
    "name", ["../../site.toml", "../../secret.jpg", "/etc/hostname", "night.json", "gone.jpg"]
)
def test_a_night_file_that_names_what_is_not_its_own(site_file: Path, name: str) -> None:
    """Night files may come from elsewhere: what they name outside the night's folder is not served."""
    (site_file.parent / "secret.jpg").write_bytes(b"secret")
    digs = three_digs()
    folder = write_night(site_file.parent, digs)
    document = json.loads((folder / "night.json").read_text(encoding="utf-8"))
    document["digs"][0]["pictures"]["during"] = name
    document["digs"][0]["clip"] = name
    (folder / "night.json").write_text(json.dumps(document), encoding="utf-8")
    desk = Desk(load_site(site_file))
    desk.get("/")
    assert desk.get("/dig/1/during.jpg").status_code == 404
    assert desk.get("/dig/1/clip.mp4").status_code == 404


@pytest.mark.parametrize("path", ["/", "/nights/", "/entries", "/clutch/1", "/dig/1/during.jpg", "/api/undo"])
def test_strangers_are_refused(desk: Desk, site: Site, path: str) -> None:
    stranger = morning_app(site, site.path.parent / "nights")(Guard({HOST})).test_client()
    assert stranger.get(path, base_url=BASE).status_code == 403
    assert desk.client.get(path, base_url="http://evil.example").status_code == 403
    assert desk.get(path, headers={"Origin": "http://evil.example"}).status_code == 403
    assert desk.get(path, headers={"Sec-Fetch-Site": "cross-site"}).status_code == 403


@pytest.mark.parametrize(
    "headers", [{TOKEN_HEADER: ""}, {TOKEN_HEADER: "stale"}, {"Origin": "http://evil.example"}]
)
def test_writes_that_are_refused(desk: Desk, record: Record, headers: dict[str, str]) -> None:
    where = f"/api/dig/{dig(record, '1').id}/find"
    assert desk.post(where, {"found": "eggs", "seen": 0}, headers=headers).status_code == 403
    assert dig(record, "1").find is None


def test_an_oversized_body(desk: Desk, record: Record) -> None:
    body = {"found": "set-aside", "seen": 0, "why": "x" * LARGEST_BODY}
    assert desk.post(f"/api/dig/{dig(record, '1').id}/find", body).status_code == 413
    assert dig(record, "1").find is None


@pytest.mark.parametrize(
    "body",
    [None, [], "x", {}, {"found": "eggs"}, {"found": "gold", "seen": 0}, {"found": "eggs", "seen": True}],
)
def test_unreadable_bodies(desk: Desk, record: Record, body: object) -> None:
    answer = desk.post(f"/api/dig/{dig(record, '1').id}/find", body)
    assert answer.status_code == 400
    assert "load the page again" in why(answer)


def test_names_are_escaped(site_file: Path) -> None:
    evil = "<script>alert(1)</script>"
    write_night(site_file.parent, [a_dig(1, "21:20", "22:50", reasons=[evil], zone=evil)])
    page = Desk(load_site(site_file)).get("/").text
    assert evil not in page
    assert page.count("&lt;script&gt;alert(1)") == 2


def test_a_night_folder_deleted_by_hand(desk: Desk, record: Record, site_file: Path) -> None:
    desk.find(dig(record, "1"), "eggs")
    folder = site_file.parent / "nights" / "2026-06-12"
    folder.rename(site_file.parent / "elsewhere")
    page = desk.get("/").text
    assert "The folder of the night of 2026-06-12 is gone" in page
    assert "Not seen: sandbank 23:00–23:10" in page  # the account is in the record
    assert rows(page) == ["1", "2", "3", "4"]
    assert desk.get(f"/dig/{dig(record, '1').id}/during.jpg").status_code == 404
    gone = desk.get("/night/2026-06-12/marking.html")
    assert gone.status_code == 409
    assert "there is no such night" in gone.text


def test_the_marking_sheet(desk: Desk, site_file: Path) -> None:
    before = sorted((site_file.parent / "nights" / "2026-06-12").rglob("*"))
    page = desk.get("/night/2026-06-12/marking.html?dig=1")
    assert page.status_code == 200
    assert page.text.count("<h2") >= 1
    assert "script-src" not in page.headers["Content-Security-Policy"]
    assert page.headers["Content-Security-Policy"].startswith("default-src 'none'")
    assert sorted((site_file.parent / "nights" / "2026-06-12").rglob("*")) == before  # looking writes nothing


def test_a_record_of_a_newer_version(desk: Desk, site: Site) -> None:
    import sqlite3

    with sqlite3.connect(site.path.parent / "record.sqlite") as connection:
        connection.execute("PRAGMA user_version = 9999")
    connection.close()
    answer = desk.get("/")
    assert answer.status_code == 409
    assert "was written by a newer nestwatch" in answer.text
