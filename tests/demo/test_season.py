"""The demo's season: what a visitor sees of it, and that its clock stands still."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from nestwatch.demo.make import make_season
from nestwatch.demo.story import Story, tell
from nestwatch.season.clock import MARKER, clock_of
from nestwatch.season.digs import count_open
from nestwatch.season.fit.state import fit_state
from nestwatch.season.incubation.expected import expectations
from nestwatch.season.incubation.growth import growth_of
from nestwatch.season.incubation.hatchings import hatchings
from nestwatch.season.open import open_record
from nestwatch.season.tally.season import season_of
from nestwatch.site import load_site, night_hours
from nestwatch.site.records import Site

SAMPLE = Path(__file__).parents[2] / "samples" / "synthetic" / "night" / "site.toml"
NIGHT = date(2026, 6, 12)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Site:
    """The site of the sample night with an invented season around it."""
    folder = tmp_path_factory.mktemp("demo")
    (folder / "site.toml").write_text(SAMPLE.read_text(encoding="utf-8"), encoding="utf-8")
    morning = make_season(folder / "site.toml", NIGHT, 1)
    (folder / MARKER).write_text(json.dumps({"morning": morning.isoformat()}), encoding="utf-8")
    return load_site(folder / "site.toml")


@pytest.mark.parametrize("year", [2025, 2026])
def test_every_part_of_the_tally_has_content(demo: Site, year: int) -> None:
    with open_record(demo) as record:
        season = season_of(record, demo, year)
    assert season.total.nests >= 6
    assert season.total.trials >= 4
    assert season.performance.missed
    assert season.nests
    assert {each.name for each in season.females} >= {"Alder", "Birch"}
    assert (season.total.hatch.pending > 0) == (year == 2026)
    assert (season.total.hatched.of > 50) == (year == 2025)


def test_there_are_finds_enough_for_a_fit(demo: Site) -> None:
    with open_record(demo) as record:
        state = fit_state(record)
    assert state.why_not is None
    assert state.helps


def test_boxes_have_windows_readings_and_hatchlings_that_grew(demo: Site) -> None:
    with open_record(demo) as record:
        found = expectations(record, demo)
        alive = [each for each in hatchings(record) if each.outcome == "alive"]
        grown = [each for each in alive if each.name and growth_of(record, each.name)]
    assert all(each.window for each in found)
    assert {each.clutch.night.year for each in found if each.left} == {2026}
    assert len(grown) >= 5


def test_last_night_waits_and_nothing_else(demo: Site) -> None:
    """The record ends before the demo's night, which `nestwatch demo` scans itself."""
    with open_record(demo) as record:
        assert count_open(record) == 0
        assert record.row("SELECT 1 FROM night WHERE date >= ?", (NIGHT.isoformat(),)) is None


def test_the_clock_stands_on_the_morning_after(demo: Site) -> None:
    morning = clock_of(demo)()
    assert morning == clock_of(demo)()
    assert timedelta(0) < morning - night_hours(demo, NIGHT).end < timedelta(hours=2)


@pytest.mark.parametrize("marker", [None, "", "[]", '{"seed": 1}', '{"morning": "soon"}', '{"morning": 3}'])
def test_any_other_folder_has_the_time_that_it_is(tmp_path: Path, marker: str | None) -> None:
    (tmp_path / "site.toml").write_text(SAMPLE.read_text(encoding="utf-8"), encoding="utf-8")
    if marker is not None:
        (tmp_path / MARKER).write_text(marker, encoding="utf-8")
    now = datetime(2030, 1, 1, tzinfo=UTC)
    assert clock_of(load_site(tmp_path / "site.toml"), lambda: now)() == now


def test_one_seed_one_story() -> None:
    stories = [tell((2025, 2026), NIGHT, seed) for seed in (1, 1, 2)]
    assert stories[0] == stories[1]
    assert stories[0].visits != stories[2].visits


@pytest.mark.parametrize("seed", range(1, 12))
def test_any_seed_tells_what_can_be(seed: int) -> None:
    story = tell((2025, 2026), NIGHT, seed)
    assert not story.dark & story.short
    assert not {visit.night for visit in story.visits if visit.seen == "scan"} & (
        story.dark | story.unscanned
    )
    assert all(visit.night < NIGHT for visit in story.visits)
    assert _nests(story, 2025) >= 8


def _nests(story: Story, year: int) -> int:
    return sum(visit.found == "eggs" for visit in story.visits if visit.night.year == year)
