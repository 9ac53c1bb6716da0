"""The truth agrees with itself, with the published durations, and with the seed."""

from __future__ import annotations

from datetime import datetime
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from nestwatch.synthetic import load_scenario
from nestwatch.synthetic.story import Story, make_story
from nestwatch.synthetic.truth import truth, truth_text

FIRST_SET = ["plain-nest", "two-trials-then-nest", "resting", "two-females", "empty-wind-insects-rain"]


def _events(name: str, seed: int) -> list[tuple[dict[str, Any], dict[str, Any]]]:
    told = truth(make_story(load_scenario(name), seed))
    return [(animal, event) for animal in told["animals"] for event in animal["events"]]


def _minutes(part: dict[str, str]) -> float:
    return (datetime.fromisoformat(part["to"]) - datetime.fromisoformat(part["from"])).total_seconds() / 60


@pytest.mark.parametrize("name", FIRST_SET)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_stages_tile_the_event(name: str, seed: int) -> None:
    for _, event in _events(name, seed):
        stages = event["stages"]
        if event["kind"] in ("rest", "pass"):
            assert stages == []
            continue
        assert (stages[0]["from"], stages[-1]["to"]) == (event["from"], event["to"])
        assert all(a["to"] == b["from"] for a, b in pairwise(stages))
        wanted = ["search", "dig", "lay", "cover"] if event["kind"] == "nest" else ["search", "dig"]
        assert [stage["stage"] for stage in stages] == wanted


@pytest.mark.parametrize("seed", range(6))
def test_chamber_lies_under_the_rear_edge(seed: int) -> None:
    story = make_story(load_scenario("two-trials-then-nest"), seed)
    lens = story.layout.lenses["sandbank"]
    for animal, event in _events("two-trials-then-nest", seed):
        turn = np.deg2rad(event["heading_plan_deg"])
        rear = np.array(event["body_m"]) - 0.005 * animal["shell_cm"] * np.array([np.cos(turn), np.sin(turn)])
        assert rear == pytest.approx(event["chamber_m"], abs=1e-3)
        seen = event["per_camera"]["sandbank"]
        assert seen["chamber_px"] == pytest.approx(lens.project([[*event["chamber_m"], 0.0]])[0], abs=0.05)
        # The head points away from the chamber in the picture too.
        head = np.deg2rad(seen["heading_deg"])
        away = np.array(seen["body_px"]) - seen["chamber_px"]
        lifted = away - lens.near([*event["body_m"], 0.0])[:, 2] * 0.002 * animal["shell_cm"]
        assert lifted @ [np.cos(head), np.sin(head)] > 0.9 * np.hypot(*lifted)


@pytest.mark.parametrize("name", FIRST_SET)
def test_the_animal_is_where_the_truth_says(name: str) -> None:
    story = make_story(load_scenario(name), 4)
    for actor in story.actors:
        for event in actor.events:
            for t in np.linspace(event.start + 1, event.end - 1, 25):
                pose = actor.pose(float(t))
                assert pose is not None
                body = event.body(actor.shell_m)
                # A quarter of a shell of shuffling and a turn of a few degrees (truth gives the mean place).
                assert np.hypot(pose.x - body[0], pose.y - body[1]) < 0.3 * actor.shell_m


@pytest.mark.parametrize("name", FIRST_SET)
@pytest.mark.parametrize("seed", [1, 7])
def test_nobody_jumps(name: str, seed: int) -> None:
    story = make_story(load_scenario(name), seed)
    for actor in story.actors:
        for before, after in pairwise(actor.stretches):
            assert after.start >= before.end - 1e-6
            if after.start - before.end < 1:
                a, b = before.pose(before.end), after.pose(after.start)
                assert np.hypot(a.x - b.x, a.y - b.y) < 0.3 * actor.shell_m


def test_nest_durations_are_the_published_ones() -> None:
    # Dig, lay and cover of Emys orbicularis: 60-145 min, mean 97.7 (Najbar & Szuszkiewicz 2005).
    lasting = [
        sum(_minutes(stage) for stage in event["stages"][1:])
        for seed in range(60)
        for _, event in _events("plain-nest", seed)
    ]
    assert 60 <= min(lasting) < 85
    assert 115 < max(lasting) <= 145
    assert np.mean(lasting) == pytest.approx(97.7, abs=8)


def test_seeds_vary_the_night() -> None:
    nights = [make_story(load_scenario("plain-nest"), seed) for seed in range(12)]

    def spread(values: list[float]) -> float:
        return float(np.std(values))

    first = [(story.actors[0], story.actors[0].events[0]) for story in nights]
    assert spread([event.start for _, event in first]) > 1800
    assert spread([event.rear[0] for _, event in first]) > 0.3
    assert spread([event.heading for _, event in first]) > 0.8
    assert spread([event.cadence for _, event in first]) > 1.5
    assert spread([actor.contrast for actor, _ in first]) > 0.03
    assert spread([story.layout.lenses["sandbank"].focal_px for story in nights]) > 5


def test_same_seed_same_bytes_and_a_nuisance_moves_no_animal() -> None:
    plain, windy = (load_scenario("plain-nest"), load_scenario("plain-nest", {"nuisance": [_WIND]}))
    assert truth_text(make_story(plain, 9)) == truth_text(make_story(plain, 9))
    assert truth_text(make_story(plain, 9)) != truth_text(make_story(plain, 10))
    assert truth(make_story(plain, 9))["animals"] == truth(make_story(windy, 9))["animals"]


_WIND = {"kind": "wind", "from": "20:00", "to": "23:00"}


def _clock_story(start: str, day: str) -> Story:
    return make_story(load_scenario("empty-wind-insects-rain", {"night.from": start, "night.date": day}), 1)


def test_the_night_the_clocks_go_back_is_an_hour_longer() -> None:
    # Central Europe: 25 October 2026, 03:00 summer time becomes 02:00.
    assert _clock_story("17:00", "2026-10-24").clock.seconds == 13 * 3600
    assert _clock_story("17:00", "2026-06-12").clock.seconds == 12 * 3600


def test_sunset_agrees_with_an_almanac() -> None:
    # Outside check: astral, with the local zone, 47.2 N 1.6 E on 12 June 2026.
    astral_sun = pytest.importorskip("astral.sun")
    astral = pytest.importorskip("astral")
    from nestwatch.synthetic.light import make_dusk

    story = _clock_story("17:00", "2026-06-12")
    dusk = make_dusk(story.scenario, story.clock, np.random.default_rng(1))
    place = astral.LocationInfo("pen", "somewhere", "Europe/Paris", 47.2, 1.6)
    expected = astral_sun.sunset(place.observer, date=story.scenario.night.date, tzinfo=story.clock.zone)
    assert abs((story.clock.instant(dusk.sunset) - expected).total_seconds()) < 150
    assert 12 * 60 <= dusk.dark_from - dusk.sunset <= 28 * 60
