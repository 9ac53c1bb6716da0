"""What came by: patches linked into visitors, sized against the shell; what is none."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import pytest

from nestwatch.ground.records import Blob
from nestwatch.nesting.visitors import Passage, find_passages

SHELL = 18.0
STEP_S = 4.0
START = 1_780_000_000.0
FOX, PERSON = 8 * 0.6 * SHELL**2, 30 * 0.6 * SHELL**2
"""Areas: a fox covers several turtles, a person dozens (patches of both the old and the new place)."""


def blob(at: float, column: float, *, row: float = 150.0, area: float = FOX) -> Blob:
    side = math.sqrt(area)
    return Blob(START + at, row, column, area, side, side, 20.0)


def walk(
    first: float, last: float, *, area: float = FOX, speed: float = 9.0, row: float = 150.0
) -> list[Blob]:
    """One patch in each frame from `first` to `last`, `speed` pixels a second to the right."""
    times = np.arange(first, last + 0.1, STEP_S)
    return [blob(float(t), 40 + speed * float(t - first), row=row, area=area) for t in times]


def passages(
    blobs: Iterable[Blob], *, seconds: float = 3600.0, levels: list[tuple[float, float]] | None = None
) -> list[Passage]:
    """Visitors of an hour, or less, of frames 4 s apart at an even level."""
    even = [(START + float(t), 60.0) for t in np.arange(0, seconds, STEP_S)]
    ordered = sorted(blobs, key=lambda each: each.at)
    return find_passages(ordered, levels or even, SHELL, step_s=STEP_S)[0]


def test_a_fox_that_trots_through_is_one_larger_animal_with_its_times() -> None:
    found = passages(walk(600, 640))
    assert [(each.what, each.start - START, each.end - START) for each in found] == [
        ("larger animal", 600.0, 640.0)
    ]
    assert (found[0].row, 40 <= found[0].column <= 400) == (150.0, True)


def test_a_person_is_told_by_size() -> None:
    assert [each.what for each in passages(walk(600, 640, area=PERSON))] == ["person"]


def test_a_turtle_walking_is_no_visitor() -> None:
    assert passages(walk(600, 1200, area=1.3 * 0.6 * SHELL**2, speed=1.0)) == []


def test_a_moth_in_two_frames_is_no_visitor() -> None:
    assert passages(walk(600, 604)) == []


def test_patches_of_one_frame_do_not_count_as_frames() -> None:
    """A patch that falls apart: many at once are still one moment."""
    assert passages([blob(600.0, 40.0 + 50 * i) for i in range(5)]) == []


def test_it_is_followed_over_frames_in_which_it_stood_still() -> None:
    """No change between two frames, no patch: 20 s later it walks on."""
    found = passages([*walk(600, 608), *walk(628, 640)])
    assert [(each.start - START, each.end - START) for each in found] == [(600.0, 640.0)]


@pytest.mark.parametrize(("pause", "count"), [(60.0, 1), (300.0, 2)])
def test_visits_that_follow_each_other_closely_are_one(pause: float, count: int) -> None:
    assert len(passages([*walk(600, 640), *walk(640 + pause, 680 + pause)])) == count


def bouts(hours: float, *, every_s: float = 360.0, last_s: float = 60.0) -> list[Blob]:
    """Something large that moves on one spot for a minute, again and again."""
    starts = np.arange(600, 600 + 3600 * hours, every_s)
    return [each for start in starts for each in walk(start, start + last_s, speed=0.2)]


def test_what_moves_in_one_place_for_hours_now_and_then_is_a_web_and_no_visitor() -> None:
    assert passages(bouts(2.0), seconds=3 * 3600) == []


def test_who_comes_through_while_a_web_hangs_there_is_still_told() -> None:
    fox = walk(4000, 4040, row=300.0)
    assert [each.start - START for each in passages([*bouts(2.0), *fox], seconds=3 * 3600)] == [4000.0]


def test_moths_by_the_hundred_hang_nowhere() -> None:
    """Large patches everywhere all night hide no raider at one place."""
    rng = np.random.default_rng(4)
    moths = [
        blob(float(at), float(x), row=float(y))
        for at, x, y in zip(
            np.arange(0, 9000, 4), rng.uniform(0, 400, 2250), rng.uniform(0, 250, 2250), strict=True
        )
    ]
    levels = [(START + 4.0 * k, 60.0) for k in range(2250)]
    assert not find_passages(moths, levels, SHELL, step_s=STEP_S)[1].cells.any()


def test_what_hangs_is_known_by_place_and_time() -> None:
    levels = [(START + 4.0 * k, 60.0) for k in range(2700)]
    hanging = find_passages(bouts(2.0), levels, SHELL, step_s=STEP_S)[1]
    assert hanging.share(START + 1200, START + 4800, 150.0, 45.0) == 1.0
    assert hanging.share(START + 1200, START + 4800, 300.0, 45.0) == 0.0
    assert hanging.share(START + 1200, START + 4800, -90.0, 9e9) == 0.0
    assert 0.0 < hanging.share(START - 3600, START + 3600, 150.0, 45.0) < 0.6
    assert hanging.over(START + 1200, 150.0, 45.0)
    assert not hanging.over(START - 3600, 150.0, 45.0)


def test_what_works_in_one_place_for_three_quarters_of_an_hour_is_a_visitor() -> None:
    """A raider digs for minutes, and rests between."""
    found = passages(bouts(0.75), seconds=3 * 3600)
    assert (found[0].start - START, found[-1].end - START) == (600.0, 600 + 7 * 360 + 60.0)


def test_who_comes_back_to_one_place_after_an_hour_and_a_half_is_told_twice() -> None:
    twice = [*walk(600, 1500, speed=0.1), *walk(6600, 7500, speed=0.1)]
    assert [each.start - START for each in passages(twice, seconds=3 * 3600)] == [600.0, 6600.0]


def test_a_person_among_animals_is_not_lost() -> None:
    found = passages([*walk(600, 640), *walk(660, 700, area=PERSON)])
    assert [each.what for each in found] == ["person"]


def test_a_bush_in_wind_is_no_visitor_and_a_fox_before_it_is() -> None:
    """A bush as large as a fox moves in four frames of five all hour."""
    rng = np.random.default_rng(4)
    times = np.arange(0, 3600, STEP_S)
    bush = [
        blob(float(t), 500 + rng.normal(0, 8), row=80 + rng.normal(0, 8))
        for t in times[rng.random(900) < 0.8]
    ]
    assert passages(bush) == []
    found = passages([*bush, *walk(1600, 1640, row=260.0)])
    assert [(each.what, each.start - START) for each in found] == [("larger animal", 1600.0)]


def test_an_animal_that_stays_for_twenty_minutes_is_a_visitor_all_the_time() -> None:
    """A badger that digs: the same place changes in every frame, but not for most of an hour."""
    digging = [blob(float(t), 300.0) for t in np.arange(1000, 2200, STEP_S)]
    found = passages(digging)
    assert [(each.start - START, each.end - START) for each in found] == [(1000.0, 2196.0)]


def test_a_lamp_is_a_light_and_what_it_lights_is_no_visitor() -> None:
    lamp = [(START + t, 120.0 if 1200 <= t < 1320 else 60.0) for t in np.arange(0, 3600, STEP_S).tolist()]
    flash = [blob(1200.0 + 4 * i, 100.0 * i, area=PERSON) for i in range(5)]
    found = passages(flash, levels=lamp)
    assert [(each.what, each.start - START, each.end - START) for each in found] == [
        ("light", 1200.0, 1316.0)
    ]
    assert math.isnan(found[0].row)


def test_the_dusk_is_no_light() -> None:
    dusk = [(START + t, 140 - 0.02 * t) for t in np.arange(0, 3600, STEP_S).tolist()]
    assert passages([], levels=dusk) == []


def test_an_empty_night_has_no_visitor() -> None:
    assert passages([]) == []
    assert find_passages([], [], SHELL, step_s=STEP_S)[0] == []
