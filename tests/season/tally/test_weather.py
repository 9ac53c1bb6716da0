"""Weather files as keepers have them: what is told, what is asked for, what missing rows do."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from nestwatch.errors import EntryError
from nestwatch.season.incubation.logger.records import Choices
from nestwatch.season.tally.records import Weather
from nestwatch.season.tally.weather import RainUnit, WeatherChoices, WeatherLog, read_weather

ZONE = ZoneInfo("Europe/Paris")
NOW = datetime(2026, 11, 20, 12, 0, tzinfo=UTC)
START, END = datetime(2026, 6, 12, 16, 0, tzinfo=UTC), datetime(2026, 6, 13, 1, 0, tzinfo=UTC)
"""18:00 to 03:00 at the site."""


def weather(
    text: str, *, rain_column: str | None = None, rain_unit: RainUnit | None = None, **file: str
) -> WeatherLog:
    choices = WeatherChoices(Choices(**file), rain_column, rain_unit)  # type: ignore[arg-type]
    return read_weather(text.encode(), ZONE, NOW, choices)


def hourly(
    rows: Sequence[tuple[str, str]], heading: str = "Time;Temperature °C;Rain mm", skip: Sequence[int] = ()
) -> str:
    """Rows of (temperature, rain) from 18:00 at the site on, one an hour, but for those skipped."""
    first = datetime(2026, 6, 12, 18, 0)  # noqa: DTZ001 - as a weather station writes it
    lines = [
        f"{first + timedelta(hours=k):%Y-%m-%d %H:%M};{celsius};{rain}"
        for k, (celsius, rain) in enumerate(rows)
        if k not in skip
    ]
    return "\n".join([*([heading] if heading else []), *lines]) + "\n"


NINE = [(f"{20 - k}.0", "0.5" if k in {0, 3} else "0.0") for k in range(10)]
"""18:00 20 °C, falling by a degree an hour, with half a millimetre in the rows of 18:00 and 21:00."""


def test_a_night_of_hourly_rows() -> None:
    """20 to 11 °C: their mean is 15.5; the rain of 18:00 fell before nesting hours began."""
    assert weather(hourly(NINE)).between(START, END) == Weather(15.5, 0.5)


def test_fahrenheit_and_inches() -> None:
    """68 °F is 20 °C; an inch is 25.4 mm (by definition, 1959)."""
    text = hourly([("68", "0"), *([("68", "0.1")] * 9)], "Time;Temp (F);Rain (in)")
    found = weather(text).between(START, END)
    assert found is not None
    assert found.celsius == pytest.approx(20)
    assert found.rain_mm == pytest.approx(9 * 2.54)


def test_a_unit_that_the_file_does_not_name_is_the_only_one_that_fits() -> None:
    read = weather(hourly([("68.0", "0")] * 10, "Time;Temp;Rain mm"))
    assert read.celsius[0] == pytest.approx(20)
    assert "°F, the only unit in which a middle value of 68 can be the air of a nesting season" in read.how


@pytest.mark.parametrize(
    ("skip", "celsius"),
    [((4,), None), ((4, 5), None), ((0,), 15.0), ((), 15.5)],
    ids=["an hour missing", "two missing", "the first row missing", "none missing"],
)
def test_missing_rows_leave_the_night_without_weather(skip: tuple[int, ...], celsius: float | None) -> None:
    """Rows may be 1.5 h apart, whatever the mean of the others would be."""
    found = weather(hourly(NINE, skip=skip)).between(START, END)
    assert (None if found is None else found.celsius) == (None if celsius is None else pytest.approx(celsius))


def test_missing_rain_leaves_the_temperature() -> None:
    rows = [(celsius, "" if k in {4, 5} else rain) for k, (celsius, rain) in enumerate(NINE)]
    assert weather(hourly(rows)).between(START, END) == Weather(15.5, None)


def test_without_a_column_of_rain() -> None:
    text = "Time;Temp °C\n" + "".join(f"2026-06-12 {h}:00;18,5\n" for h in range(18, 24))
    read = weather(text)
    assert "no column of rain" in read.how
    end = datetime(2026, 6, 12, 21, 0, tzinfo=UTC)
    assert read.between(START, end) == Weather(18.5, None)
    assert read.between(START, END) is None, "rows end at 23:00"


def test_without_a_header_the_columns_are_asked_for_and_taken_by_number() -> None:
    text = hourly(NINE, heading="")
    with pytest.raises(EntryError, match=r"may be the temperature \(2, 3\): say which with --column"):
        weather(text)
    with pytest.raises(EntryError, match="unit of its rain; say --rain-unit mm or --rain-unit in"):
        weather(text, column="2", rain_column="3")
    read = weather(text, column="2", rain_column="3", rain_unit="mm")
    assert read.between(START, END) == Weather(15.5, 0.5)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (hourly([("72.0", "0")] * 10), "by the file's own unit half of the temperatures lie above 72 °C"),
        (hourly([("38.0", "0")] * 10, "t;Temp;Rain mm"), "fits the air of a nesting season in neither"),
        (hourly([("18", "1")] * 3, "t;Temp °C;Rain"), "say --rain-unit mm or --rain-unit in"),
        (hourly([("18", "-1")] * 3), "the rain is below 0"),
        (hourly([("18", f"{k / 5}") for k in range(20)]), "seems to be a running total"),
        ("Time;Temp °C;Rain a mm;Rain b mm\n2026-06-12 18:00;18;0;0\n", '3 "Rain a mm", 4 "Rain b mm"'),
        ("Time;Temp in °C;Temp out °C\n2026-06-12 18:00;18;0\n", "say which with --column"),
        ("Day;Temp\n2026-06-12;18\n", "no line holds a date with its time"),
        ("Time;Temp °C\n06/07/2026 10:00;18.4\n", "--order day-first"),
        ("Time;Temp °C\n2026-06-12 18:00;---\n", "no line has both a date and a temperature"),
    ],
    ids=["wrong unit", "neither unit", "rain unit", "negative", "total", "two rains", "two probes", "no time",
         "day or month", "no value"],
)  # fmt: skip
def test_what_cannot_be_told_is_asked_for(text: str, words: str) -> None:
    with pytest.raises(EntryError) as refused:
        weather(text)
    assert words in str(refused.value)


def test_a_rate_of_rain_is_no_amount() -> None:
    text = "Time;Temp °C;Rain rate mm/h;Rain mm\n2026-06-12 18:00;18;6;1\n2026-06-12 19:00;18;6;1\n"
    assert weather(text).rain_mm == pytest.approx([1, 1])


def test_a_keeper_who_says_the_unit_is_believed() -> None:
    assert weather(hourly([("72.0", "0")] * 10), unit="f").celsius[0] == pytest.approx(22.2222, abs=1e-3)


def test_a_station_that_does_not_follow_summer_time_is_asked_for_its_clock() -> None:
    """In France the hour from 02:00 to 03:00 of 29 March 2026 was skipped (IANA time zone database)."""
    text = "Time;Temp °C;Rain mm\n" + "".join(f"2026-03-29 0{h}:00;12;0\n" for h in range(1, 5))
    with pytest.raises(EntryError, match="was skipped when the clocks went forward"):
        weather(text)
    read = weather(text, clock="+01:00")
    assert [datetime.fromtimestamp(s, UTC).hour for s in read.seconds] == [0, 1, 2, 3]


def test_the_hour_that_came_twice() -> None:
    """25 October 2026, 03:00 CEST back to 02:00 CET: told apart by its second pass, else asked for."""
    walls = ["01:00", "02:00", "02:00", "03:00"]
    text = "Time;Temp °C;Rain mm\n" + "".join(f"2026-10-25 {wall};12;0.2\n" for wall in walls)
    read = weather(text)
    start, end = (datetime(2026, 10, 25, hour, 0, tzinfo=UTC) for hour in (0, 2))
    found = read.between(start, end)
    assert found is not None
    assert found.rain_mm == pytest.approx(0.4)
    once = "Time;Temp °C\n" + "".join(f"2026-10-25 {wall};12\n" for wall in ("01:00", "02:00", "03:00"))
    with pytest.raises(EntryError, match="in the file once only: say --clock local"):
        weather(once)


def test_of_two_rows_of_an_instant_the_first_is_kept_and_that_is_told() -> None:
    text = hourly(NINE) + "2026-06-12 18:00;40;9\n"
    assert weather(text).left_out == ("1 row of an instant that was read already",)
    assert weather(text).between(START, END) == Weather(15.5, 0.5)
