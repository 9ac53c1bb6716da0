"""Incubation on the desk without a browser: what it shows and writes, and what it refuses, in whose words."""

from __future__ import annotations

import html
import io
import re
import sqlite3
from datetime import timedelta
from pathlib import Path

import pytest

from nestwatch.desk.eggs.logs import LARGEST_FILE
from nestwatch.season.clutches import change_clutch
from nestwatch.season.digs import dig_called
from nestwatch.season.incubation.checks import checks, weighings
from nestwatch.season.incubation.containers import add_container, container_called, containers
from nestwatch.season.incubation.eggs import eggs, eggs_in
from nestwatch.season.incubation.growth import growth_of
from nestwatch.season.incubation.hatchings import hatchings, settle_egg
from nestwatch.season.incubation.probes import probe_called, probes
from nestwatch.season.incubation.readings import series_of
from nestwatch.season.incubation.records import Hatching, Series
from tests.desk.eggs.boxes import LATER, EggDesk, a_file, boxed, nine_eggs, plain, the_clutch, told
from tests.desk.mornings import MORNING, NIGHT


@pytest.fixture
def desk(site_file: Path) -> EggDesk:
    """Nine eggs in box A1 since the morning after laying, two months later."""
    return EggDesk(boxed(site_file))


@pytest.fixture
def fresh(site_file: Path) -> EggDesk:
    """The morning after laying, no box yet."""
    return EggDesk(nine_eggs(site_file), MORNING)


def settled(desk: EggDesk) -> tuple[Hatching, ...]:
    with desk.record() as record:
        return hatchings(record)


def series(desk: EggDesk, probe: str = "p1") -> Series:
    with desk.record() as record:
        return series_of(record, probe_called(record, probe))


def labels(desk: EggDesk) -> list[str]:
    with desk.record() as record:
        return [box.label for box in containers(record)]


# All boxes.


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


# Eggs.


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


# Temperatures.


def test_a_reading_by_hand(desk: EggDesk) -> None:
    assert desk.send("reading", probe="p1", temperature="28,4", humidity="81").status_code == 303
    assert (
        desk.send("reading", probe="p1", temperature="83", unit="f", at="2026-08-12 21:00").status_code == 303
    )
    found = series(desk)
    assert found.celsius.tolist() == pytest.approx([28.333, 28.4])
    page = plain(desk.get("/eggs/box/A1").text)
    assert "p1: 28.4 °C at 2026-08-13 06:10; lowest 28.3, highest 28.4 °C" in page


def test_a_reading_in_the_wrong_unit_is_asked_about(desk: EggDesk) -> None:
    """In the words of `nestwatch clutch readings --temperature 82`."""
    answer = desk.send("reading", probe="p1", temperature="82", unit="c")
    assert answer.status_code == 422
    assert told(answer) == (
        "82.0 °C is far from what is plausible (European pond turtle is kept at 27 to 30 °C; below 19 and "
        "above 38 °C is asked about). As °F it would be 27.8 °C: say °F; if it is so, say so with the button "
        "below."
    )
    assert len(series(desk).seconds) == 0
    assert desk.send("reading", probe="p1", temperature="82", unit="f").status_code == 303


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"temperature": "warm"}, 'Temperature: "warm" is no number; write it as 28.4.'),
        ({"temperature": ""}, "Write the temperature that was read."),
        ({"temperature": "28", "humidity": "130"}, "A humidity of 130 % cannot be; give 0 to 100."),
        ({"temperature": "28", "at": "2027-01-01T00:00"}, "That reading is still to come; check the day."),
        ({"temperature": "28", "at": "yesterday"}, '"yesterday" is no time; write 22:10, or with its day'),
        ({"temperature": "28", "probe": "p9"}, 'There is no probe "p9"'),
    ],
)
def test_readings_that_cannot_be(desk: EggDesk, fields: dict[str, str], words: str) -> None:
    answer = desk.send("reading", **{"probe": "p1", "unit": "c"} | fields)
    assert (answer.status_code, told(answer)[: len(words)]) == (400, words)
    assert len(series(desk).seconds) == 0


def test_after_a_refusal_times_are_text(desk: EggDesk) -> None:
    """In the hour that comes twice an offset has to be typed, which a picker does not take."""
    answer = desk.send("weigh", grams="x", at="2026-06-20T07:30")
    assert '<input type="text" name="at" value="2026-06-20 07:30"' in answer.text


def a_log(content: str | bytes, **fields: str) -> dict[str, object]:
    raw = content if isinstance(content, bytes) else content.encode()
    return {"probe": "p1", "file": (io.BytesIO(raw), "log.csv"), **fields}


def held(page: str) -> str:
    found = re.search(r'name="held" value="([^"]+)"', page)
    assert found is not None
    return found[1]


def test_a_logger_with_gaps(desk: EggDesk) -> None:
    """Ten days, then nothing: the drawing breaks, and says from when to when nothing was read."""
    assert desk.send("log", **a_log(a_file(10))).status_code == 303
    page = desk.get("/eggs/box/A1").text
    assert len(series(desk).seconds) == 240
    assert "2026-06-23 05:10 to 2026-08-13 06:10 (51 days)" in plain(page)
    assert page.count('<rect class="gap"') == 1
    assert "Read as: fields between commas; decimal point; " in plain(page)


def test_a_grown_file_gives_its_new_readings_only(desk: EggDesk) -> None:
    desk.send("log", **a_log(a_file(10)))
    again = desk.send("log", **a_log(a_file(10)))
    assert told(again) == "Every reading of this file is in the record already; nothing was changed."
    assert desk.send("log", **a_log(a_file(12))).status_code == 303
    assert len(series(desk).seconds) == 288


def test_a_logger_without_a_header(desk: EggDesk) -> None:
    assert desk.send("log", **a_log(a_file(2, header=""))).status_code == 303
    assert len(series(desk).seconds) == 48


def test_a_file_that_fits_neither_unit_is_asked_about_and_kept(desk: EggDesk) -> None:
    asked = desk.send("log", **a_log(a_file(2, celsius=120.0, header="")))
    assert asked.status_code == 400
    assert "fits eggs in neither; say °C or °F." in told(asked)
    assert '<input type="radio" name="unit" value="f" required> °F' in asked.text
    doubt = desk.send("log", probe="p1", held=held(asked.text), unit="f")
    assert doubt.status_code == 422
    assert "48.9 °C is far from what is plausible" in told(doubt)
    assert 'name="unit" value="f"' in doubt.text, "what was answered goes along"
    assert desk.send("log", probe="p1", held=held(doubt.text), unit="f", sure="1").status_code == 303
    assert series(desk).celsius[0] == pytest.approx((120 - 32) / 1.8, abs=0.001)


def test_day_and_month_are_asked_about(desk: EggDesk) -> None:
    text = "date,temp\n05/07/2026 10:00,28.4\n05/07/2026 11:00,28.5\n"
    asked = desk.send("log", **a_log(text))
    assert told(asked) == (
        "The first reading may be of 05 July 2026 or 07 May 2026; say which with “Order of day and month”."
    )
    assert re.findall(r'name="order" value="([a-z-]+)"', asked.text) == ["day-first", "month-first"]
    assert "05/07/2026 10:00,28.4" in asked.text
    assert desk.send("log", probe="p1", held=held(asked.text), order="day-first").status_code == 303
    assert "2026-07-05 10:00 to 2026-07-05 11:00" in plain(desk.get("/eggs/box/A1").text)


def test_columns_are_offered_by_their_headings(desk: EggDesk) -> None:
    text = "time,temp in,temp out\n2026-07-01 10:00,28.4,21.0\n2026-07-01 11:00,28.5,21.5\n"
    asked = desk.send("log", **a_log(text))
    assert "say which with “Temperature column”, and read the file once for each probe." in told(asked)
    assert '<input type="radio" name="column" value="2" required> 2: temp in' in asked.text
    assert desk.send("log", probe="p1", held=held(asked.text), column="2").status_code == 303
    assert series(desk).celsius.tolist() == [28.4, 28.5]


def test_the_hour_that_clocks_show_twice(site_file: Path) -> None:
    """2026-10-25, Europe/Paris: once in the file, it may be either; the logger's clock is asked for."""
    desk = EggDesk(boxed(site_file), LATER + timedelta(days=90))
    text = "time,temp °C\n2026-10-25 01:30,28.0\n2026-10-25 02:30,28.1\n2026-10-25 03:30,28.2\n"
    asked = desk.send("log", **a_log(text))
    assert told(asked) == (
        "The hour that came twice on 2026-10-25 is in the file once only: say local if the logger follows "
        "summer time, or the offset that it keeps, such as +01:00."
    )
    assert '<input type="text" name="clock"' in asked.text
    assert desk.send("log", probe="p1", held=held(asked.text), clock="+01:00").status_code == 303
    assert series(desk).seconds[1] - series(desk).seconds[0] == 3600


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", "No line holds a date such as 2026-06-13; export date, time and temperature for every reading."),
        (b"\0\1\2", "This is no text file; export the readings as CSV (text with a separator)."),
        ("time,temp\n2027-07-01 10:00,28.4\n", "The dates make no sense in any order, or lie in the future"),
    ],
)
def test_files_that_are_none(desk: EggDesk, content: str | bytes, words: str) -> None:
    answer = desk.send("log", **a_log(content))
    assert (answer.status_code, told(answer)[: len(words)]) == (400, words)


def test_a_file_that_is_held_no_more(desk: EggDesk) -> None:
    answer = desk.send("log", probe="p1", held="gone", unit="c")
    assert told(answer) == "The file is not held any more; choose it again."
    assert told(desk.send("log", probe="p1")) == "Choose the logger's file first."


def test_a_large_file_is_taken_and_a_huge_one_not(desk: EggDesk) -> None:
    """A reading a minute over a fortnight is half a megabyte, more than any other request may have."""
    lines = ["time,temp °C"]
    at = MORNING + timedelta(hours=2)
    for n in range(20_000):
        lines.append(f"{at + timedelta(minutes=n):%Y-%m-%d %H:%M:%S},28.4")
    assert desk.send_large("log", **a_log("\n".join(lines))).status_code == 303
    assert len(series(desk).seconds) == 20_000
    assert desk.get("/eggs/box/A1").content_length < 200_000, "the drawing is thinned"
    huge = desk.send_large("log", **a_log(b"x" * (LARGEST_FILE + 1)))
    assert huge.status_code == 413
    assert "more than this page ever sends" in huge.text


def test_a_probe_is_entered_for_the_incubator(desk: EggDesk) -> None:
    assert desk.send("probe", name="p2", where="incubator", incubator="left", lies="air").status_code == 303
    page = plain(desk.get("/eggs/box/A1").text)
    assert "p2: in incubator left, in the air (not used: a probe nearer to the eggs tells)" in page
    answer = desk.send("probe", name="p3", where="incubator", incubator="")
    assert told(answer) == "Say where the probe is: in a box or an incubator."
    with desk.record() as record:
        assert [probe.name for probe in probes(record)] == ["p1", "p2"]


# Water and checks.


def test_water_to_top_up(desk: EggDesk) -> None:
    assert desk.send("weigh", grams="890.5", added="4").status_code == 303
    page = plain(desk.get("/eggs/box/A1").text)
    assert (
        "10 g of water are missing to its mass at the start. Add it beside the eggs, never over them." in page
    )
    answer = desk.send("weigh", grams="89")
    assert answer.status_code == 422
    assert told(answer).startswith(
        "Box A1 weighed 905 g when it was set up, and 89 g now? Check unit and box"
    )
    with desk.record() as record:
        assert len(weighings(record, container_called(record, "A1"))) == 1


def test_checks_of_several_eggs_and_of_one(desk: EggDesk) -> None:
    assert desk.send("check", egg=["1", "4"], saw="developing", note="veins").status_code == 303
    assert desk.send("check", saw="mould").status_code == 303
    assert desk.egg(4, "check-egg", saw="pipped").status_code == 303
    with desk.record() as record:
        found = checks(record, container_called(record, "A1"))
    assert sorted((each.position or "", each.saw) for each in found) == [
        ("", "mould"), ("1", "developing"), ("4", "developing"), ("4", "pipped"),
    ]  # fmt: skip
    assert "Candle from the side or from above without turning the egg" in desk.get("/eggs/egg/4").text
    answer = desk.send("check", egg=["3", "77"], saw="clear")
    assert told(answer).startswith('Box A1 has no egg at "77"; it has 1, 2')
    assert 'name="egg" value="3" checked' in answer.text
    assert told(desk.send("check", saw="")) == "Say what was seen."


# Hatching.


def test_from_hatching_to_head_start(desk: EggDesk) -> None:
    assert (
        desk.egg(
            1, "settle", seen=0, outcome="alive", at="2026-08-05T07:00", mass="6,1", name="E1"
        ).status_code
        == 303
    )
    page = plain(desk.get("/eggs/egg/1").text)
    assert "2026-08-05 egg 1 of 2026-06-12 dig 1: alive; E1; 6.1 g" in page
    assert "Hatchlings stay about a week in the incubator, until the yolk is absorbed." in page
    assert "E1 hatched 2026-08-05: if its yolk is absorbed, it may leave." in plain(desk.get("/eggs/").text)
    assert desk.egg(1, "left", seen=1, at="2026-08-12T07:00").status_code == 303
    assert desk.egg(1, "growth", name="E1", mass="6.4", shell="29").status_code == 303
    again = desk.egg(1, "growth", name="E1", mass="64")
    assert told(again) == "E1 weighed 6.4 g last, and 64 g now? If it is so, say so with the button below."
    with desk.record() as record:
        assert [each.mass_g for each in growth_of(record, "E1")] == [6.4]
    assert settled(desk)[0].left_at is not None


@pytest.mark.parametrize(
    ("fields", "status", "words"),
    [
        (
            {"outcome": "alive", "at": "2026-06-10T07:00"},
            400,
            "An egg cannot be settled before it was laid (2026-06-12 22:05); change one of the times.",
        ),
        (
            {"outcome": "alive", "at": "2026-06-30T07:00"},
            422,
            "That is only 17 days after laying; if it is so",
        ),
        ({"outcome": "alive", "mass": "6100"}, 400, "6100 g cannot be; give grams, at most 200."),
        (
            {"outcome": "alive", "shell": "2.8"},
            400,
            "A shell of 2.8 mm cannot be; give millimetres, 5 to 120.",
        ),
        ({"outcome": "lost", "name": "E1"}, 400, "An egg that is lost has no hatchling to name or measure."),
        ({"outcome": "eaten"}, 400, '"eaten" is none of alive, dead-in-shell, infertile, lost.'),
        ({}, 400, "Say what became of the egg: one of alive, dead-in-shell, infertile, lost."),
        ({"outcome": "alive", "at": "2027-01-01T00:00"}, 400, "That is still to come; check the day."),
    ],
)
def test_hatchings_that_cannot_be(desk: EggDesk, fields: dict[str, str], status: int, words: str) -> None:
    answer = desk.egg(1, "settle", seen=0, **fields)
    assert (answer.status_code, told(answer)[: len(words)]) == (status, words)
    assert settled(desk) == ()


def test_more_hatched_than_were_laid(desk: EggDesk) -> None:
    """In the words of `nestwatch clutch hatch --alive 10`."""
    answer = desk.send("counts", alive="8", infertile="2")
    assert answer.status_code == 400
    assert told(answer) == (
        "10 eggs were told, but box A1 has only 9 left to settle: more cannot have hatched than were laid. "
        "Enter eggs found later with nestwatch clutch place."
    )
    assert told(desk.send("counts")) == "Say how many: alive, dead-in-shell, infertile, lost."
    assert settled(desk) == ()
    assert desk.send("counts", alive="6", infertile="2").status_code == 303
    assert len(settled(desk)) == 8
    assert "Eggs: 1 of 9 left" in plain(desk.get("/eggs/box/A1").text)


def test_two_persons_and_one_egg(desk: EggDesk) -> None:
    with desk.record() as record:
        settle_egg(record, "A1", "1", {"outcome": "infertile"})
    answer = desk.egg(1, "settle", seen=0, outcome="alive", name="E1")
    assert answer.status_code == 409
    assert told(answer) == (
        "Nothing was entered: this was changed meanwhile, and is now: infertile. Look again, then enter "
        "again."
    )
    assert "What you had typed: outcome alive; name E1." in plain(answer.text)
    assert '<input type="hidden" name="seen" value="1">' in answer.text
    assert [each.outcome for each in settled(desk)] == ["infertile"]
    assert desk.egg(1, "settle", seen=1, outcome="alive").status_code == 303  # having looked again


def test_two_persons_and_one_box(desk: EggDesk) -> None:
    change = {"seen": 1, "label": "A1", "incubator": "left", "medium": "perlite"}
    assert desk.send("change-box", **change).status_code == 303
    answer = desk.send("change-box", **change | {"medium": "sand"})
    assert answer.status_code == 409
    assert "is now: A1: perlite, incubator left" in told(answer)
    assert (
        desk.send("change-box", **change | {"seen": 2, "label": "Z9"})
        .headers["Location"]
        .startswith("/eggs/box/Z9")
    )


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


# Whom it lets in, and what it never takes.


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
