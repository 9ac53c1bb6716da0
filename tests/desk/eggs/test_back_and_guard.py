"""Every entry is taken back; whom the pages let in, and what they never take."""

from __future__ import annotations

import re
import sqlite3

import pytest

from nestwatch.season.clutches import change_clutch
from nestwatch.season.digs import dig_called
from nestwatch.season.incubation.containers import add_container
from nestwatch.season.incubation.probes import probe_called
from nestwatch.season.incubation.readings import series_of
from nestwatch.season.incubation.records import Series
from tests.desk.eggs.boxes import EggDesk, a_file, a_log, plain, told
from tests.desk.mornings import NIGHT


def series(desk: EggDesk, probe: str = "p1") -> Series:
    with desk.record() as record:
        return series_of(record, probe_called(record, probe))


def test_every_entry_can_be_taken_back(desk: EggDesk) -> None:
    """Each kind of entry, and the record is as before."""
    entries = [
        ("reading", {"probe": "p1", "temperature": "28.4"}),
        ("weigh", {"grams": "890"}),
        ("check", {"saw": "developing", "egg": "2"}),
        ("log", a_log(a_file(3))),
        ("probe", {"name": "p7", "where": "box"}),
        ("change-box", {"seen": "1", "label": "A1", "medium": "sand"}),
        ("counts", {"alive": "3"}),
        ("new-box", {"page": "all", "label": "B1"}),
    ]
    for kind, fields in entries:
        before = _everything(desk)
        assert desk.send(kind, **fields).status_code == 303, kind  # type: ignore[arg-type]
        assert _everything(desk) != before, kind
        page = desk.get("/eggs/box/A1").text
        entry = re.search(r'name="entry" value="(\d+)"', page)
        assert entry is not None
        back = desk.send("undo", entry=entry[1])
        assert "Taken back: " in plain(desk.get(back.headers["Location"]).text)
        assert _everything(desk) == before, kind


def _everything(desk: EggDesk) -> list[list[tuple[object, ...]]]:
    """All rows of incubation, without their versions."""
    tables = ("container", "egg", "probe", "readings", "inspection", "weighing", "hatching", "growth")
    with desk.record() as record:
        return [[_told(row) for row in record.rows(f"SELECT * FROM {table}")] for table in tables]


def _told(row: sqlite3.Row) -> tuple[object, ...]:
    return tuple(value for name, value in dict(row).items() if name not in {"version", "id"})


def test_what_rests_on_an_entry_goes_first(desk: EggDesk) -> None:
    with desk.record() as record:
        number = record.row("SELECT id FROM action WHERE words LIKE 'box A1: entered%'")["id"]  # type: ignore[index]
    answer = desk.send("undo", entry=number)
    assert answer.status_code == 400
    assert "cannot be taken back: later entries rest on it; take those back first" in told(answer)


def test_after_the_eggs_were_taken_back_their_page_is_left(desk: EggDesk) -> None:
    with desk.record() as record:
        number = record.row("SELECT max(id) AS id FROM action WHERE words LIKE '%9 eggs of%'")["id"]  # type: ignore[index]
    answer = desk.egg(1, "undo", entry=number)
    assert answer.headers["Location"].startswith("/eggs/?done=")


def test_nobody_else_is_let_in(desk: EggDesk) -> None:
    other = desk.client.application.test_client()
    for path in ("/eggs/", "/eggs/box/A1", "/eggs/egg/1", "/eggs/labels.pdf", "/eggs/label?box=A1"):
        assert other.get(path, base_url="http://127.0.0.1:8123").status_code == 403, path
        assert desk.get(path, headers={"Host": "evil.example"}).status_code == 403, path


@pytest.mark.parametrize("token", ["", "wrong", None])
def test_a_form_without_the_token(desk: EggDesk, token: str | None) -> None:
    fields = {} if token is None else {"write_token": token}
    data = {"page": "box", "box": "A1", "probe": "p1", "temperature": "28", **fields}
    answer = desk.client.post("/eggs/enter/reading", base_url="http://127.0.0.1:8123", data=data)
    assert answer.status_code == 403
    assert "This page is from an earlier run of the command; load it again." in answer.text
    assert answer.mimetype == "text/html", "a form is a person's: words, not JSON"
    assert len(series(desk).seconds) == 0


@pytest.mark.parametrize(
    "headers", [{"Origin": "http://evil.example"}, {"Origin": "null"}, {"Sec-Fetch-Site": "cross-site"}]
)
def test_a_form_of_another_page(desk: EggDesk, headers: dict[str, str]) -> None:
    data = {
        "write_token": desk.guard.write_token,
        "page": "box",
        "box": "A1",
        "probe": "p1",
        "temperature": "28",
    }
    answer = desk.client.post(
        "/eggs/enter/reading", base_url="http://127.0.0.1:8123", data=data, headers=headers
    )
    assert answer.status_code == 403
    assert len(series(desk).seconds) == 0


def test_forms_tell_where_they_come_from(desk: EggDesk) -> None:
    """Under `no-referrer` browsers send a form with the origin `null` (WHATWG Fetch, "append a request
    `Origin` header"; from memory), which the guard refuses."""
    assert desk.get("/eggs/").headers["Referrer-Policy"] == "same-origin"
    assert desk.get("/").headers["Referrer-Policy"] == "no-referrer"


def test_addresses_that_lead_nowhere(desk: EggDesk) -> None:
    for path in ("/eggs/box/B9", "/eggs/egg/99", "/eggs/box", "/eggs/labels.pdf?size=huge", "/eggs/egg/x"):
        assert desk.get(path).status_code == 404, path
    assert "there is no box &#34;B9&#34;" in desk.get("/eggs/box/B9").text
    assert desk.send("nothing").status_code == 404
    assert desk.send("weigh", box="B9", grams="9").status_code == 404
    assert told(desk.egg(1, "settle", outcome="alive")) == '"seen" is not readable; load the page again.'
    assert desk.get("/eggs/egg/99999999999999999999").status_code == 404
    assert desk.get("/eggs/box/A1?days=99999999999").status_code == 200


def test_two_clutches_in_one_box(desk: EggDesk) -> None:
    """Counts need to be told of which clutch."""
    with desk.record() as record:
        add_container(record, desk.site, "C1", {})
        change_clutch(record, desk.site, dig_called(record, NIGHT, "2"), {"whole": 4})
        second = dig_called(record, NIGHT, "2").id
        clutch = record.row("SELECT id FROM clutch WHERE dig = ?", (second,))["id"]  # type: ignore[index]
    assert desk.send("place", clutch=clutch, count="4").status_code == 303
    answer = desk.send("counts", alive="4")
    assert told(answer).startswith(
        "Box A1 holds eggs of 2026-06-12 dig 1 and 2026-06-12 dig 2: say of which clutch"
    )
