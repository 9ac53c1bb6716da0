"""Readings by hand and loggers' files on the desk; water and checks."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

import pytest

from nestwatch.desk.eggs.logs import LARGEST_FILE
from nestwatch.season.incubation.checks import checks, weighings
from nestwatch.season.incubation.containers import container_called
from nestwatch.season.incubation.probes import probe_called, probes
from nestwatch.season.incubation.readings import series_of
from nestwatch.season.incubation.records import Series
from tests.desk.eggs.boxes import LATER, EggDesk, a_file, a_log, boxed, plain, told
from tests.desk.mornings import MORNING


def series(desk: EggDesk, probe: str = "p1") -> Series:
    with desk.record() as record:
        return series_of(record, probe_called(record, probe))


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
