"""Two cameras of one pen on a rendered night, the clock of one 42 s ahead: one dig, and the clocks told."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from nestwatch.night import NightResult, run_night
from nestwatch.site import load_site
from nestwatch.synthetic import render_night
from nestwatch.synthetic.scenario import parse_scenario

AHEAD_S = 42
_SCENARIO = {
    "format": "nestwatch-scenario/1",
    "name": "two sides",
    "night": {"date": "2026-06-18", "from": "22:00", "to": "23:40"},
    "video": {"fps": 0.5, "size": [320, 180], "segment_min": 120.0},
    "light": {"switch_at": "21:30"},
    "camera": [{"name": "south"}, {"name": "east", "side": "east", "clock_ahead_s": AHEAD_S}],
    "animal": [
        {
            "name": "F1",
            "event": [
                {
                    "kind": "nest",
                    "at": "22:15",
                    "near": [2.2, 1.6],
                    "dig_min": 30,
                    "lay_min": 12,
                    "cover_min": 16,
                }
            ],
        }
    ],
}


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> NightResult:
    folder = tmp_path_factory.mktemp("two")
    render_night(parse_scenario(_SCENARIO, {}, where="two sides"), folder, seed=4)
    return run_night(load_site(Path(folder) / "site.toml"), date(2026, 6, 18), folder / "nights", workers=1)


def test_one_female_is_one_dig_of_both_cameras(result: NightResult) -> None:
    digs = [dig for dig in result.document["digs"] if dig["call"] != "rest"]
    assert [set(dig["cameras"]) for dig in digs] == [{"south", "east"}]
    assert digs[0]["camera"] == digs[0]["cameras"][0]
    assert all(digs[0]["pictures"].values())


def test_the_clock_that_is_ahead_is_told_within_five_seconds(result: NightResult) -> None:
    (clock,) = result.document["clocks"]
    assert (clock["camera"], clock["other"]) == ("east", "south")
    assert abs(clock["ahead_s"] - AHEAD_S) <= 5
    assert result.summary[-1] == clock["words"]
    assert result.document["raids"] == []
