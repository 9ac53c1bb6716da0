"""Animals beside, over and behind each other, hidden, smoothed, from nights before; raids and clocks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import hypot
from typing import Any

import numpy as np
import pytest

from nestwatch.errors import ScenarioError
from nestwatch.synthetic import load_scenario
from nestwatch.synthetic.dotted import touches
from nestwatch.synthetic.nuisances import make_plans
from nestwatch.synthetic.nuisances.creatures import guests
from nestwatch.synthetic.painter import Painter
from nestwatch.synthetic.render import file_stem
from nestwatch.synthetic.scar import Scars
from nestwatch.synthetic.scenario import choose
from nestwatch.synthetic.soil import make_soil
from nestwatch.synthetic.story import Actor, Event, Story, make_story
from tests.synthetic.conftest import filmed

STILL: dict[str, object] = {"video.noise": 0, "video.clock_text": False, "nuisance": []}


def _story(family: str, seed: int, **more: Any) -> Story:
    return make_story(
        load_scenario(f"hard/{family}", {k.replace("__", "."): v for k, v in more.items()}), seed
    )


def _only(story: Story, k: int = 0) -> tuple[Actor, Event]:
    return story.actors[k], story.actors[k].events[0]


def _away(actor: Actor, t: float, place: tuple[float, float]) -> float:
    pose = actor.pose(t)
    assert pose is not None
    return hypot(pose.x - place[0], pose.y - place[1])


@pytest.mark.parametrize("seed", range(5))
def test_the_follower_stays_behind_her_and_off_her(seed: int) -> None:
    story = _story("male-follows", seed)
    (she, dig), (he, stay) = _only(story), _only(story, 1)
    body = dig.body(she.shell_m)
    times = np.linspace(stay.start + 1, min(stay.end, dig.end) - 1, 300)
    away = np.array([_away(he, float(t), body) for t in times])
    # Side by side two shells need 0.8 of their mean length; three shell lengths behind is the farthest.
    assert away.min() > 0.8 * 0.5 * (she.shell_m + he.shell_m)
    assert np.median(away) < 0.5 * she.shell_m + 3.2 * she.shell_m
    assert away.std() > 0.02


def test_over_her_back_it_climbs_and_over_the_nest_it_does_not() -> None:
    for seed, low, high in ((1, 0.3, 0.5), (0, 0.0, 0.1)):
        story = _story("walked-over", seed)
        (she, dig), (other, crossing) = _only(story), _only(story, 1)
        goal = dig.body(she.shell_m) if seed else dig.rear
        times = np.linspace(crossing.start, crossing.end - 0.01, 400)
        away = [_away(other, float(t), goal) for t in times]
        pose = other.pose(float(times[int(np.argmin(away))]))
        assert min(away) < 0.03
        assert pose is not None
        assert low <= pose.lift <= high


def test_animals_that_keep_apart_do_not_lie_on_each_other() -> None:
    # A shell is 0.8 of its length wide, so nearer than that two of them overlap whichever way they lie.
    for seed in range(1, 20, 2):
        story = _story("two-close", seed)
        one, two = story.actors
        start = max(one.stretches[0].start, two.stretches[0].start)
        end = min(one.stretches[-1].end, two.stretches[-1].end)
        poses = [(one.pose(t), two.pose(t)) for t in np.arange(start, end, 5.0).tolist()]
        near = [hypot(a.x - b.x, a.y - b.y) for a, b in poses if a is not None and b is not None]
        assert min(near) > 0.75 * 0.5 * (one.shell_m + two.shell_m)


@pytest.mark.parametrize(("limbs", "still"), [(0.0, True), (1.0, False)])
def test_limbs_at_zero_do_not_move(limbs: float, still: bool) -> None:
    story = _story("still-limbs", 2, animal__event__limbs=limbs)
    actor, event = _only(story)
    dig = event.stages[1]
    poses = [actor.pose(t) for t in np.arange(dig.start + 5, dig.end - 5, 1.3).tolist()]
    feet = np.array([pose.feet for pose in poses if pose is not None])
    assert (feet.std(axis=0).max() < 1e-9) == still


def _patch(painter: Painter, place: tuple[float, float], half: int) -> tuple[slice, slice]:
    x, y = painter.lens.project([[*place, 0.0]])[0]
    return np.s_[int(y) - half : int(y) + half, int(x) - half : int(x) + half]


@pytest.mark.parametrize("seed", [2, 5])
def test_grass_hides_part_of_her(seed: int) -> None:
    grown = _story("plants-over", seed, **_still())
    bare = replace(grown, layout=replace(grown.layout, screen=()))
    actor, event = _only(grown)
    t = event.stages[1].start + 60
    nobody, seen, behind = (
        _frame(Painter(story, "sandbank"), t) for story in (replace(bare, actors=()), bare, grown)
    )
    painter = Painter(bare, "sandbank")
    here = _patch(painter, event.body(actor.shell_m), 12)
    body = np.abs(seen - nobody)[here] > 6
    hidden = float((np.abs(behind - seen)[here][body] > 6).mean())
    assert 0.05 < hidden < 0.75


def _still() -> Mapping[str, Any]:
    return {key.replace(".", "__"): value for key, value in STILL.items()}


def test_the_scrape_of_the_night_before_lies_there_from_the_start() -> None:
    story = _story("given-up", 1, **_still())
    painter = Painter(story, "sandbank")
    (old,) = story.actors[0].earlier
    first, later = filmed(painter, np.array([1.0, 1500.0])).astype(float)
    empty = Painter(_without_earlier(story), "sandbank")
    never = filmed(empty, np.array([1.0]))[0].astype(float)
    here = _patch(painter, old.rear, 6)
    assert np.abs(first[here] - never[here]).max() > 15
    assert np.array_equal(first[here], later[here])


def _without_earlier(story: Story) -> Story:
    return replace(story, actors=tuple(replace(actor, earlier=()) for actor in story.actors))


def test_a_raid_opens_the_nest_and_leaves_a_hole() -> None:
    story = _story("raid", 3, video__noise=0, video__clock_text=False)
    (raider,) = guests(make_plans(story.scenario, story.clock, story.seed), story.layout)
    (raid,) = raider.events
    (_, nest) = _only(story)
    assert raid.rear == pytest.approx(nest.rear)
    painter = Painter(_quiet(story), "sandbank")
    closed, during, opened = (_frame(painter, t) for t in _raid_times(raid))
    hole = _patch(painter, nest.rear, 2)
    assert opened[hole].mean() < 0.8 * closed[hole].mean()
    assert np.abs(during - closed).max() > 30


def _raid_times(raid: Event) -> tuple[float, float, float]:
    return raid.start - 300, 0.5 * (raid.start + raid.end), raid.end + 200


def _quiet(story: Story) -> Story:
    """The raid without the moths of that night."""
    kept = tuple(part for part in story.scenario.nuisance if part.kind == "raider")
    assert story.scenario.nuisance[0].kind == "raider", (
        "a kept disturbance must keep its number and its draws"
    )
    return replace(story, scenario=story.scenario.model_copy(update={"nuisance": kept}))


def _frame(painter: Painter, t: float) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """One frame as floats."""
    return np.asarray(filmed(painter, np.array([t]))[0], np.float64)


def test_a_raider_digs_with_its_fore_feet_and_rests_between() -> None:
    story = _story("raid", 3)
    plan = next(p for p in make_plans(story.scenario, story.clock, story.seed) if p.kind == "raider")
    painter = Painter(story, "sandbank")
    raider: Any = next(n for n in painter.nuisances if n.kind == "raider")
    (event,) = guests([plan], story.layout)[0].events
    times = np.arange(event.start + 1, event.end - 1, 0.05)
    reach = np.array([raider.parts(float(t), False).centres[0][0] for t in times])
    moving = np.abs(np.diff(reach)) > 1e-6
    assert 0.4 < moving.mean() < 0.98
    assert reach.std() > 0.01


def test_where_two_dug_both_digs_show() -> None:
    # The second scar lies on the first: its hole is dark on ground that the first has changed for good.
    story = _story("two-close", 0, **_still())
    soil = make_soil(story.layout, contrast=0.0, stones=0, twigs=0, cell=0.01, rng=np.random.default_rng(1))
    first, second = (actor.events[0] for actor in story.actors)
    bare = soil.ir.copy()
    scars = Scars(soil, story.actors)
    scars.update(first.end + 60)
    closed = soil.ir / bare
    scars.update(second.stages[1].end)
    both = soil.ir / bare
    alone = make_soil(story.layout, contrast=0.0, stones=0, twigs=0, cell=0.01, rng=np.random.default_rng(1))
    Scars(alone, story.actors[1:]).update(second.stages[1].end)
    assert np.allclose(both, closed * alone.ir / bare, atol=1e-5)
    assert (np.abs(closed - 1) > 0.02).sum() > 50
    # Back in time the ground is as it was: files may be painted in any order.
    scars.update(30.0)
    assert np.array_equal(soil.ir, bare)


def test_the_camera_s_clock_names_its_files() -> None:
    story = _story("two-cameras", 1, camera__clock_ahead_s=75)
    assert file_stem(story, "eastside", 0.0).endswith("T201615")
    assert story.clock_of("eastside").wall(0) - story.clock.wall(0) == (
        story.clock_of("eastside").start - story.clock.start
    )


def test_overrides_beat_variants() -> None:
    scenario = load_scenario("hard/frame-rates", {"video.fps": 3})
    assert {choose(scenario, seed).video.fps for seed in range(5)} == {3}
    assert {choose(scenario, seed).video.gop_s for seed in range(5)} == {2, 4}


@pytest.mark.parametrize(
    ("one", "two", "same"),
    [
        ("animal.0.contrast", "animal.contrast", True),
        ("animal", "animal.event.at", True),
        ("video.fps", "video.fpsx", False),
        ("night.to", "night.from", False),
    ],
)
def test_keys_that_touch(one: str, two: str, same: bool) -> None:
    assert touches(one, two) is touches(two, one) is same


@pytest.mark.parametrize(
    ("event", "part"),
    [
        ({"kind": "follow"}, "follows"),
        ({"kind": "rest", "over": "F1"}, "`over`"),
        ({"kind": "rest", "before": True}, "`before`"),
        ({"kind": "nest", "beside": "F9"}, "no animal 'F9'"),
    ],
)
def test_company_that_makes_no_sense_is_refused(event: Mapping[str, Any], part: str) -> None:
    with pytest.raises(ScenarioError, match=part):
        make_story(load_scenario("plain-nest", {"animal": [{"name": "A", "event": [event]}]}), 1)


def test_a_night_may_begin_after_midnight() -> None:
    # 12 June 2026 is the evening; half past midnight is on the 13th, and the sun rises near six (almanac).
    story = make_story(
        load_scenario("plain-nest", {"night.from": "00:30", "night.to": "07:30", "animal": []}), 1
    )
    assert story.clock.wall(0).isoformat() == "2026-06-13T00:30:00+02:00"
    assert story.clock.seconds == 7 * 3600
    painter = Painter(story, "sandbank")
    assert painter.dusk.infrared(0)
    assert 5.5 < (painter.dusk.sunrise / 3600 + 0.5) < 6.5
