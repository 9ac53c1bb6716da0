"""One test for each mistake of form, in [site] and in [animal], with the whole line that is said."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.site.sites import said, spoiled, written

MISTAKES = [
    pytest.param(
        'format = "nestwatch-site/1"',
        'format = "nestwatch-site/2"',
        ', line 1: format: "nestwatch-site/2" is not a format this version reads; write '
        'format = "nestwatch-site/1".',
        id="format",
    ),
    pytest.param(
        'format = "nestwatch-site/1"\n',
        "",
        ': format: missing; add for example format = "nestwatch-site/1".',
        id="format missing",
    ),
    pytest.param(
        'timezone = "Europe/Paris"',
        'timezon = "Europe/Paris"',
        ', line 4: [site]: unknown key "timezon"; did you mean "timezone"?',
        id="unknown key",
    ),
    pytest.param(
        'units = "metric"',
        'units = "metric"\nbreed = 3',
        ', line 8: [site]: unknown key "breed"; take it out; keys here are name, '
        "timezone, latitude, longitude, units, night.",
        id="unknown key far",
    ),
    pytest.param(
        "[animal]",
        "[animals]",
        ', line 9: top level: unknown key "animals"; did you mean "animal"?',
        id="unknown table",
    ),
    pytest.param(
        "[[camera]]",
        "[camera]",
        ", line 32: [[camera]]: may be there several times, so it is written [[camera]] with two brackets.",
        id="one bracket",
    ),
    pytest.param(
        'kind = "water"',
        'kind = "water"\ncolour = "blue"',
        ', line 47: camera "sandbank", zone "pool": unknown key "colour"; take it out; '
        "keys here are name, kind, outline.",
        id="unknown zone key",
    ),
    pytest.param(
        "Europe/Paris",
        "Europe/Pari",
        ', line 4: [site] timezone: "Europe/Pari" is not a known time zone; did you mean "Europe/Paris"?',
        id="unknown zone",
    ),
    pytest.param(
        "Europe/Paris",
        "Paris",
        ', line 4: [site] timezone: "Paris" is not a known time zone; did you mean "Europe/Paris"?',
        id="zone city",
    ),
    pytest.param(
        "Europe/Paris",
        "xq",
        ', line 4: [site] timezone: "xq" is not a known time zone; write it as continent '
        'and city, such as "Europe/Paris".',
        id="zone none",
    ),
    pytest.param(
        "latitude = 47.2",
        "latitude = 147.2",
        ", line 5: [site] latitude: 147.2 is out of range; it must be at most 90.",
        id="lat",
    ),
    pytest.param(
        "latitude = 47.2",
        'latitude = "47.2"',
        ', line 5: [site] latitude: must be a number without quotes, not "47.2".',
        id="lat text",
    ),
    pytest.param(
        "latitude = 47.2",
        "latitude = nan",
        ", line 5: [site] latitude: must be an ordinary number, not nan.",
        id="lat nan",
    ),
    pytest.param(
        "latitude = 47.2\n",
        "",
        ", line 2: [site] latitude: missing; add for example latitude = 47.2.",
        id="lat missing",
    ),
    pytest.param(
        "longitude = 1.6",
        "longitude = -181",
        ", line 6: [site] longitude: -181 is out of range; it must be at least -180.",
        id="lon",
    ),
    pytest.param(
        'units = "metric"',
        'units = "imperil"',
        ', line 7: [site] units: "imperil" is not known; write "metric" or "imperial"; '
        'did you mean "imperial"?',
        id="units",
    ),
    pytest.param(
        'night = ["16:00", "09:00"]',
        'night = ["16.00", "09:00"]',
        ', line 8: [site] night, value 1: "16.00" is not a time; write hours and minutes '
        'in quotes, such as "18:30".',
        id="night",
    ),
    pytest.param(
        'night = ["16:00", "09:00"]',
        'night = ["16:00"]',
        ", line 8: [site] night: must hold exactly two values, not 1.",
        id="night one",
    ),
    pytest.param(
        'night = ["16:00", "09:00"]',
        'night = "16:00"',
        ', line 8: [site] night: must be a list in square brackets, not "16:00".',
        id="night str",
    ),
    pytest.param(
        'night = ["16:00", "09:00"]',
        'night = ["01:00", "09:00"]',
        ', line 8: [site] night: starts at "01:00", but a night starts at noon or later; '
        'all day is ["12:00", "12:00"].',
        id="night morning",
    ),
    pytest.param(
        'name = "Linden Fen"',
        "name = 7",
        ", line 3: [site] name: must be text in quotes, not 7.",
        id="site name",
    ),
    pytest.param(
        'name = "Linden Fen"',
        'name = " "',
        ", line 3: [site] name: must be text on one line.",
        id="site name blank",
    ),
    pytest.param(
        "shell_length_cm = [12, 20]",
        "shell_length_cm = [20, 12]",
        ", line 11: [animal] shell_length_cm: must be [low, high], but 20 is more than 12; swap them.",
        id="shell",
    ),
    pytest.param(
        "shell_length_cm = [12, 20]",
        "shell_length_cm = [12, 2000]",
        ", line 11: [animal] shell_length_cm: must lie between 1 and 250.",
        id="shell range",
    ),
    pytest.param(
        "shell_length_cm = [12, 20]",
        'shell_length_cm = ["12", 20]',
        ', line 11: [animal] shell_length_cm, value 1: must be a number without quotes, not "12".',
        id="shell text",
    ),
    pytest.param(
        "shell_length_cm = [12, 20]",
        "shell_length_cm = [12, 20, 30]",
        ", line 11: [animal] shell_length_cm: must hold exactly two values, not 3.",
        id="shell 3",
    ),
    pytest.param(
        "clutch_size = [5, 17]",
        "clutch_size = [5.5, 17]",
        ", line 12: [animal] clutch_size, value 1: must be a whole number without quotes, not 5.5.",
        id="clutch",
    ),
    pytest.param(
        'nesting_season = ["05-15", "07-20"]',
        'nesting_season = ["15-05", "07-20"]',
        ', line 15: [animal] nesting_season, value 1: "15-05" is not a day; write '
        'month-day in quotes, such as "05-15".',
        id="season",
    ),
]


@pytest.mark.parametrize(("right", "wrong", "message"), MISTAKES)
def test_mistake_gives_one_line(tmp_path: Path, right: str, wrong: str, message: str) -> None:
    assert said(written(tmp_path, spoiled((right, wrong)))) == message
