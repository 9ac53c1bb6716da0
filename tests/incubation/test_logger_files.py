"""Files as loggers write them: what is told from them, what is asked for, and that nothing is guessed."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from nestwatch.errors import EntryError
from tests.incubation.logs import instants, log

PLAIN = "Date,Temperature (°C),RH (%)\n2026-06-13 10:00,28.4,81\n2026-06-13 10:10,28.5,82\n"


@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        (PLAIN, [28.4, 28.5]),
        (
            "Datum;Uhrzeit;Temp. °C;Feuchte\n13.06.2026;10:00:00;28,4;81,0\n13.06.2026;10:10:00;28,5;82,0\n",
            [28.4, 28.5],
        ),
        (
            "Logger 7\nSerial;1234\n\nNo\tTime\tTemp\n"
            "1\t06/13/2026 02:00 PM\t83.1\n2\t06/13/2026 02:10 PM\t83.3\n",
            [28.389, 28.5],
        ),
        ("2026-06-13T10:00:00Z,28.4\n2026-06-13T10:10:00Z,28.5\n", [28.4, 28.5]),
        ('"Time","Temp"\n"13.06.2026 10:00","28,4"\n"13.06.2026 10:10","28,5"\n', [28.4, 28.5]),
        ("Time,Temp °C\n13.06.2026 10:00,28,4\n13.06.2026 10:10,28,5\n", [28.4, 28.5]),
        ("13.06.2026 10:00 28.4\n13.06.2026 10:10 28.5\n", [28.4, 28.5]),
        ("2026-06-13 10:10,28.5°C\n2026-06-13 10:00,28.4°C\n", [28.4, 28.5]),
        (
            "Time;Dew point °C;Temperature °C\n2026-06-13 10:00;21,0;28,4\n2026-06-13 10:10;21,0;28,5\n",
            [28.4, 28.5],
        ),
    ],
)
def test_any_logger(text: str, celsius: list[float]) -> None:
    assert log(text).series.celsius == pytest.approx(celsius, abs=0.001)


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_encodings(encoding: str) -> None:
    read = log(PLAIN, encoding)
    assert read.series.humidity == pytest.approx([81, 82])
    assert instants(read) == ["06-13 08:00", "06-13 08:10"], "10:00 in Paris is 08:00 UTC in summer"
    assert read.how == (
        "fields between commas",
        "decimal point",
        "the year first; no other way fits",
        "°C, by the file",
        "the site's own clock",
    )


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            "T;temp\n06/07/2026 10:00;28.4\n",
            "may be of 06 July 2026 (--order day-first) or 07 June 2026 (--order",
        ),
        (
            "t,temp\n05/06/07 10:00,28.4\n",
            "05 June 2007 (--order day-first) or 06 May 2007 (--order month-first)",
        ),
        ("2026-06-13 10:00,28,4\n2026-06-13 10:10,28,5\n", "say --decimal comma or point"),
        ("2026-06-13 10:00;28,4\n2026-06-13 10:10;28.5\n", "say --decimal comma or point"),
        ("t;temp\n2026-06-13 10:00;49.0\n", "fits eggs in neither; say --unit c or --unit f"),
        (
            "2026-06-13 10:00;28.4;80.5\n2026-06-13 10:10;28.5;80.0\n",
            "may be the temperature (2, 3): say which",
        ),
        (
            "t;Temp 1;Temp 2\n2026-06-13 10:00;28.4;27.9\n",
            '(2 "Temp 1", 3 "Temp 2"): say which with --column',
        ),
        ("t;note\n2026-06-13 10:00;door open\n", "no column holds temperatures"),
        ("no dates here\n", "no line holds a date"),
        ("2026-06-13;28.4\n", "no line holds a date with its time"),
        ("t;temp\n2027-06-13 10:00;28.4\n", "or lie in the future; check the logger's clock"),
        ("t;temp\n2026-03-29 02:30;28.4\n", "was skipped when the clocks went forward"),
        (
            "t;temp\n2026-10-25 02:10;28.4\n2026-10-25 03:10;28.4\n",
            "is in the file once only: say --clock local",
        ),
        ("\0\1\2\0", "no text file"),
    ],
)
def test_what_cannot_be_told_is_asked_for(text: str, words: str) -> None:
    with pytest.raises(EntryError) as caught:
        log(text)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("order", "expected"), [("day-first", "07-06 08:00"), ("month-first", "06-07 08:00")]
)
def test_the_option_settles_the_order(order: str, expected: str) -> None:
    assert instants(log("T;temp\n06/07/2026 10:00;28.4\n", order=order)) == [expected]


def test_other_options_settle_their_questions() -> None:
    assert log("2026-06-13 10:00,28,4\n", decimal="comma").series.celsius == pytest.approx([28.4])
    both = log("2026-06-13 10:00;28.4;80.5\n", column="2", humidity_column="3")
    assert (both.series.celsius[0], both.series.humidity[0]) == (28.4, 80.5)
    assert log("t;Temp 1;Temp 2\n2026-06-13 10:00;28.4;27.9\n", column="temp 2").series.celsius == [27.9]
    assert log("t;temp\n2026-06-13 10:00;50\n", unit="f").series.celsius == pytest.approx([10.0])
    with pytest.raises(EntryError, match='there is no column "Temp 3"'):
        log("t;Temp 1;Temp 2\n2026-06-13 10:00;28.4;27.9\n", column="Temp 3")


def test_successive_days_tell_the_order() -> None:
    """All days up to the 12th: as month first the readings would jump from month to month."""
    lines = [f"{day:02}/06/2026 {hour:02}:00;28.0" for day in (3, 4, 5) for hour in range(0, 24, 6)]
    read = log("t;temp\n" + "\n".join(lines))
    assert "else readings would jump by weeks" in read.how[2]
    assert instants(read)[0] == "06-02 22:00"


def test_the_future_tells_the_order() -> None:
    """On 20 November 2026, 10/12/2026 can only be 12 October."""
    assert instants(log("t;temp\n10/12/2026 10:00;28.0\n")) == ["10-12 08:00"]


@pytest.mark.parametrize("step", [10, 60])
def test_the_hour_that_comes_twice(step: int) -> None:
    """Paris, 25 October 2026: 02:00 to 03:00 first in summer time (UTC+2), then in winter time (UTC+1)."""
    hours = [(1, m) for m in range(0, 60, step)] + 2 * [(2, m) for m in range(0, 60, step)] + [(3, 0)]
    read = log("t;temp\n" + "\n".join(f"2026-10-25 {h:02}:{m:02};28.0" for h, m in hours))
    assert np.diff(read.series.seconds) == pytest.approx(60.0 * step), "no step is lost and none doubled"
    assert instants(read)[0] == "10-24 23:00"
    assert "second pass" in read.how[-1]


def test_a_clock_that_keeps_its_offset() -> None:
    text = "t;temp\n2026-10-25 02:10;28.4\n2026-10-25 03:10;28.4\n"
    assert instants(log(text, clock="+02:00")) == ["10-25 00:10", "10-25 01:10"]
    assert instants(log(text, clock="utc")) == ["10-25 02:10", "10-25 03:10"]
    assert instants(log(text, clock="local")) == ["10-25 00:10", "10-25 02:10"]
    with pytest.raises(EntryError, match='"moon" is no clock'):
        log(text, clock="moon")


def test_what_is_left_out_is_told() -> None:
    text = (
        "t;temp\n2026-06-13 10:00;28.4\n2026-06-13 10:10;---\n2026-06-13 10:20;\nbattery low\n"
        "2026-06-13 10:30;28.6\n2026-06-13 10:30;28.7\n"
    )
    read = log(text)
    assert read.series.celsius == pytest.approx([28.4, 28.6])
    assert read.left_out == (
        "1 line (5) without a date that can be read",
        "2 lines (3, 4) without a temperature",
        "1 reading of an instant that was read already",
    )


def test_midnight_by_a_twelve_hour_clock() -> None:
    read = log("t;temp\n06/13/2026 12:10 AM;28.0\n06/13/2026 12:10 PM;28.0\n")
    assert instants(read) == ["06-12 22:10", "06-13 10:10"]


DELIMITERS = {"tab": "\t", "semicolon": ";", "bar": "|", "comma": ",", "space": " "}
FORMS = {
    "iso": "%Y-%m-%d",
    "day": "%d.%m.%Y",
    "month": "%m/%d/%Y",
    "day-short": "%d/%m/%y",
    "year-short": "%y-%m-%d",
}


@pytest.mark.parametrize("header", [True, False])
@pytest.mark.parametrize("unit", ["c", "f"])
@pytest.mark.parametrize("decimal", [".", ","])
@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("delimiter", DELIMITERS)
def test_read_rightly_or_asked_about_never_wrongly(
    delimiter: str, form: str, decimal: str, unit: str, header: bool
) -> None:
    """Three days of readings every 8 hours from 3 June on, written in every way."""
    mark = DELIMITERS[delimiter]
    walls = [datetime(2026, 6, 3) + timedelta(hours=8 * k) for k in range(9)]  # noqa: DTZ001 - a logger's wall
    celsius = [27.5 + 0.1 * k for k in range(9)]
    shown = [value if unit == "c" else value * 1.8 + 32 for value in celsius]
    lines = [f"{w:{FORMS[form]} %H:%M}{mark}{v:.2f}" for w, v in zip(walls, shown, strict=True)]
    lines = [line[: line.rindex(".")] + decimal + line[line.rindex(".") + 1 :] for line in lines]
    text = "\n".join([f"time{mark}temp"] * header + lines)
    orders = {"iso": "year-first", "month": "month-first", "year-short": "year-first"}
    told = {"order": orders.get(form, "day-first"), "decimal": "comma" if decimal == "," else "point"}
    asked = ""
    try:
        read = log(text)
    except EntryError as error:
        asked, read = str(error), log(text, **told)
    assert not asked or "say" in asked, "a refusal names what settles it"
    assert not asked or form in {"day-short", "year-short"} or (delimiter, decimal) == ("comma", ",")
    assert read.series.celsius == pytest.approx(celsius, abs=0.006)
    assert read.series.seconds[0] == datetime(2026, 6, 2, 22, tzinfo=UTC).timestamp()
    assert np.diff(read.series.seconds) == pytest.approx(8 * 3600)
