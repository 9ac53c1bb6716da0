"""Clocks of two cameras compared, on invented movement with a known disagreement."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from nestwatch.ground.records import Blob
from nestwatch.nesting.activity import UNSEEN, Activity, activity_of
from nestwatch.nesting.clocks import Disagreement, ahead_of_all, by_events, by_movement, shared_spans

START = 1_780_000_000.0
STEP_S = 4.0
HOURS = 4.0


def bouts(rng: np.random.Generator) -> list[tuple[float, float]]:
    """Digging as measured of none: bouts of 40 s to 4 min, pauses of 10 s to 3 min, for two hours."""
    out, at = [], 3600.0
    while at < 3 * 3600:
        length = rng.uniform(40, 240)
        out.append((at, at + length))
        at += length + rng.uniform(10, 180)
    return out


def camera(
    seed: int, shared: list[tuple[float, float]], *, ahead_s: float = 0.0, phase: float = 0.0
) -> Activity:
    """What a camera sees of `shared`, with moths of its own in one frame of eight, its clock ahead."""
    rng = np.random.default_rng(seed)
    at = START + phase + np.arange(0, HOURS * 3600, STEP_S)
    blobs = []
    for t in at:
        if any(a <= t - START <= b for a, b in shared):
            blobs.append(Blob(t + ahead_s, 50.0, 60.0, float(rng.uniform(30, 90)), 8.0, 8.0, 12.0))
        if rng.random() < 0.12:
            blobs.append(Blob(t + ahead_s, 20.0, 30.0, float(rng.uniform(16, 200)), 8.0, 8.0, 30.0))
    found = activity_of(blobs, list(at + ahead_s), lambda row, column: True, shell_px=18.0, step_s=STEP_S)
    assert found is not None
    return found


@pytest.mark.parametrize("ahead_s", [0.0, -42.0, 119.0, 1700.0])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_disagreement_is_found_as_near_as_it_claims(ahead_s: float, seed: int) -> None:
    shared = bouts(np.random.default_rng(seed))
    one, other = camera(10 + seed, shared, ahead_s=ahead_s, phase=1.3), camera(20 + seed, shared)
    found = by_movement("east", one, "west", other)
    assert found is not None
    assert abs(found.ahead_s - ahead_s) <= max(5.0, found.within_s)
    if ahead_s == 0:
        assert not found.worth_telling
    if abs(ahead_s) > 40:
        assert found.worth_telling
    assert found.events >= 3


@pytest.mark.parametrize("seed", range(8))
def test_cameras_that_share_nothing_are_not_compared(seed: int) -> None:
    rng = np.random.default_rng(seed)
    assert by_movement("east", camera(30 + seed, bouts(rng)), "west", camera(50 + seed, bouts(rng))) is None


def test_a_still_night_tells_nothing() -> None:
    still = Activity(START, STEP_S, (0,) * 3000)
    assert by_movement("east", still, "west", still) is None


def test_each_camera_switches_its_light_at_a_time_of_its_own() -> None:
    """A flash over the whole picture at the switch: not seen, so nothing to compare."""
    frames = list(START + np.arange(0, 600, STEP_S))
    flash = [Blob(START + 300, 50.0, 50.0, 40000.0, 200.0, 200.0, 60.0)]
    found = activity_of(
        flash, frames, lambda row, column: True, shell_px=18.0, step_s=STEP_S, switches=[START + 300]
    )
    assert found is not None
    assert max(found.values) == 0
    assert found.values[75] == UNSEEN


def test_what_lies_outside_the_zones_or_was_not_recorded_does_not_count() -> None:
    frames = [START + t for t in (*range(0, 60, 4), *range(400, 460, 4))]
    outside = [Blob(START + 20, 500.0, 5.0, 300.0, 20.0, 20.0, 50.0)]
    found = activity_of(outside, frames, lambda row, column: row < 100, shell_px=18.0, step_s=STEP_S)
    assert found is not None
    assert set(found.values) == {0, UNSEEN}
    assert np.isnan(found.levels()[(found.times() > START + 70) & (found.times() < START + 390)]).all()


def test_two_frames_are_no_night() -> None:
    assert activity_of([], [START, START + 4], lambda row, column: True, shell_px=18.0, step_s=4.0) is None


def test_starts_and_ends_tell_it_roughly_and_say_so() -> None:
    """By hand: the median of 40, 55, 70, 80 and -900 is 55; one pair that was none does not matter."""
    found = by_events("east", "west", [70.0, 40.0, 55.0, -900.0, 80.0])
    assert found is not None
    assert (found.ahead_s, found.events) == (55.0, 5)
    assert found.within_s > 10
    assert found.worth_telling
    assert by_events("east", "west", [70.0, 40.0]) is None


def test_half_a_minute_between_edges_is_no_disagreement() -> None:
    found = by_events("east", "west", [30.0, -20.0, 15.0, -30.0])
    assert found is not None
    assert not found.worth_telling


def test_only_visits_without_a_rival_are_compared() -> None:
    one = [(100.0, 160.0), (2000.0, 2060.0), (5000.0, 5050.0)]
    other = [(80.0, 150.0), (1950.0, 2000.0), (2100.0, 2160.0)]
    assert shared_spans(one, other) == [20.0, 10.0]
    assert shared_spans([], other) == []


def test_three_clocks_are_put_on_one_scale() -> None:
    """Least squares by hand: a - b = 30, b - c = 30, a - c = 60 agree; their mean is zero."""
    pairs = [("a", "b", 30.0), ("b", "c", 30.0), ("a", "c", 60.0)]
    found = ahead_of_all([Disagreement(x, y, s, 2.0, 5, "starts") for x, y, s in pairs])
    assert found == pytest.approx({"a": 30.0, "b": 0.0, "c": -30.0})
    assert ahead_of_all([]) == {}


def test_it_is_told_from_the_camera_that_is_ahead() -> None:
    behind = Disagreement("east", "west", -42.0, 2.0, 5, "starts")
    assert behind.ahead() == replace(behind, camera="west", other="east", ahead_s=42.0)
