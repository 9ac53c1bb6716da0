"""Boxes and the eggs in them on the desk: what it shows and writes, and what it refuses, in whose words."""

from __future__ import annotations

import html
from pathlib import Path

import pytest

from nestwatch.season.digs import dig_called
from nestwatch.season.incubation.containers import container_called, containers
from nestwatch.season.incubation.eggs import eggs, eggs_in
from tests.desk.eggs.boxes import EggDesk, nine_eggs, plain, the_clutch, told
from tests.desk.mornings import MORNING, NIGHT


def labels(desk: EggDesk) -> list[str]:
    with desk.record() as record:
        return [box.label for box in containers(record)]


def test_nothing_yet(site_file: Path) -> None:
    page = plain(EggDesk(nine_eggs(site_file)).get("/eggs/").text)
    assert "Nothing wants doing now." in page
    assert "No box was entered. Enter the first one below." in page
    assert "2026-06-12 dig 1: 9 of 9 in no box yet" in page


def test_the_most_urgent_stands_first(desk: EggDesk) -> None:
    """In the words of `nestwatch clutch alerts`: no reading before the window, weighing last."""
    page = plain(desk.get("/eggs/").text)
    words = [
        "no reading at all: enter a probe",
        "hatching is to be expected any day",
        "not weighed for 61 days",
    ]
    places = [page.index(text) for text in words]
    assert places == sorted(places)


def test_boxes_that_are_over_stand_behind_the_others(desk: EggDesk) -> None:
    assert "of which every egg is settled" not in plain(desk.get("/eggs/").text)
    desk.send("counts", alive="7", infertile="2")
    page = plain(desk.get("/eggs/").text)
    assert "No box has eggs that are not settled." in page
    assert "1 box of which every egg is settled" in page
    assert "Box A1 : 2026-06-12 dig 1, 9 eggs" in page


def test_a_window_is_never_one_date(desk: EggDesk) -> None:
    """55 to 75 days after 2026-06-12 22:05, by the site file: counted by hand, 6 and 26 August."""
    for path in ("/eggs/", "/eggs/box/A1"):
        page = plain(desk.get(path).text)
        assert "Hatch 2026-08-06 to 2026-08-26" in page
        assert "European pond turtle: 55 to 75 days at 27 to 30 °C [the site file (own records)]." in page
        assert "No readings: the window rests on the profile's days alone." in page
        assert "Windows are estimates: nothing here replaces a vet." in page


def test_a_box_is_entered_and_its_page_comes(fresh: EggDesk) -> None:
    answer = fresh.send(
        "new-box", page="all", label="B 2/ü", medium="perlite", dry_g="300", water_g="337,5", incubator="left"
    )
    assert answer.status_code == 303
    page = fresh.get(answer.headers["Location"])
    assert "Entered: box B 2/ü: entered." in plain(page.text)
    with fresh.record() as record:
        box = container_called(record, "b 2/ü")
    assert (box.dry_g, box.water_g, box.incubator, box.set_up_at) == (300, 337.5, "left", MORNING)


def test_a_label_that_is_taken(desk: EggDesk) -> None:
    answer = desk.send("new-box", page="all", label="a1", medium="sand & <b>")
    assert answer.status_code == 400
    assert told(answer) == 'There is a box "A1" already; two boxes must not share a label.'
    assert 'value="sand &amp; &lt;b&gt;"' in answer.text, "what was typed stays"
    assert labels(desk) == ["A1"]


def test_an_unusual_share_of_water_is_asked_about(fresh: EggDesk) -> None:
    wrong = {"label": "B1", "dry_g": "300", "water_g": "3000"}
    answer = fresh.send("new-box", page="all", **wrong)
    assert answer.status_code == 422
    assert "10.00 : 1, which is unusual; if it is so, say so with the button below." in told(answer)
    assert 'form="new-box" name="sure" value="1"' in answer.text
    assert fresh.send("new-box", page="all", sure="1", **wrong).status_code == 303
    assert labels(fresh) == ["B1"]


@pytest.mark.parametrize("label", ["..", ".", "a//b", "?x=1#y", "50 %"])
def test_any_label_has_a_page(fresh: EggDesk, label: str) -> None:
    where = fresh.send("new-box", page="all", label=label).headers["Location"]
    assert plain(fresh.get(where).text).count(f"Box {label}") >= 1
    assert html.escape(where.split("?done")[0].split("&done")[0]) in fresh.get("/eggs/").text


def test_eggs_go_into_a_box(fresh: EggDesk) -> None:
    fresh.send("new-box", page="all", label="A1")
    with fresh.record() as record:
        clutch = the_clutch(record).id
    assert fresh.send("place", clutch=clutch, places="a1, a2 a3", top="yes").status_code == 303
    assert fresh.send("place", clutch=clutch, count="5", top="no").status_code == 303
    with fresh.record() as record:
        inside = eggs_in(record, container_called(record, "A1"))
    assert [(egg.position, egg.top_marked) for egg in inside][2:4] == [("a3", True), ("1", False)]
    assert "Eggs: 8 of 8 left" in plain(fresh.get("/eggs/box/A1").text)
    answer = fresh.send("place", clutch=clutch, count="2")
    assert answer.status_code == 400
    assert told(answer) == (
        "The clutch of 2026-06-12 dig 1 has 9 eggs, 8 of them in boxes already: 2 more are too many. If more "
        "were found, enter that first."
    )


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"count": "0"}, "0 eggs cannot be put into a box; give a number from 1 to 300."),
        ({"count": "2", "places": "a1"}, "Say either how many eggs, or the names of their places."),
        ({}, "Say either how many eggs, or the names of their places."),
        ({"count": "nine"}, 'How many: "nine" is no whole number; correct it.'),
        ({"places": "x x"}, 'The place "x" of this box is taken; give another.'),
        (
            {"count": "1", "at": "2026-06-01T07:00"},
            "Eggs cannot be in a box before they are laid (2026-06-12",
        ),
        ({"count": "1", "at": "2027-06-01T07:00"}, "That is still to come; check the day."),
    ],
)
def test_eggs_that_cannot_be_there(fresh: EggDesk, fields: dict[str, str], words: str) -> None:
    fresh.send("new-box", page="all", label="A1")
    with fresh.record() as record:
        clutch = the_clutch(record).id
    answer = fresh.send("place", clutch=clutch, **fields)
    assert (answer.status_code, told(answer)[: len(words)]) == (400, words)
    with fresh.record() as record:
        assert eggs(record) == ()


def test_the_clutch_page_leads_to_the_box(fresh: EggDesk) -> None:
    with fresh.record() as record:
        dig, clutch = dig_called(record, NIGHT, "1"), the_clutch(record)
    assert f'href="/eggs/?clutch={clutch.id}#place"' in fresh.get(f"/clutch/{dig.id}").text
    fresh.send("new-box", page="all", label="A1")
    assert f'<option value="{clutch.id}" selected>' in fresh.get(f"/eggs/?clutch={clutch.id}").text


def test_an_egg_is_moved_and_its_top_marked(desk: EggDesk) -> None:
    desk.send("new-box", page="all", label="B1")
    assert desk.egg(2, "top", marked="no").status_code == 303
    assert desk.egg(2, "move", to="B1", place="x7").status_code == 303
    answer = desk.egg(3, "move", to="B1", place="X7")
    assert (answer.status_code, told(answer)) == (400, 'The place "X7" of this box is taken; give another.')
    page = plain(desk.get("/eggs/egg/2").text)
    assert "Egg x7" in page
    assert "top not marked" in page
