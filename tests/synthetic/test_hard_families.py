"""Every family of bad nights loads, has a twin without a dig, and holds what its name promises."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from functools import cache
from math import hypot
from pathlib import Path
from typing import Any

import pytest

from nestwatch.site import load_site
from nestwatch.synthetic import load_scenario
from nestwatch.synthetic.light import make_dusk
from nestwatch.synthetic.scenario import SAMPLES
from nestwatch.synthetic.sitefile import site_text
from nestwatch.synthetic.story import Story, make_story, stream
from nestwatch.synthetic.truth import truth

FAMILIES = sorted(path.stem for path in (SAMPLES / "hard").glob("*.toml"))
SEEDS = range(10)
DIGS = ("nest", "trial")
WITHOUT_A_NEST = {("given-up", 0)}
"""Families by variant in which she gives up."""

Span = tuple[datetime, datetime]
Told = Mapping[str, Any]


@cache
def _story(family: str, seed: int, digging: bool = True) -> Story:
    return make_story(load_scenario(f"hard/{family}", {} if digging else {"digging": False}), seed)


@cache
def _truth(family: str, seed: int, digging: bool = True) -> Told:
    return truth(_story(family, seed, digging))


def _span(part: Told) -> Span:
    return datetime.fromisoformat(part["from"]), datetime.fromisoformat(part["to"])


def _events(told: Told, *kinds: str) -> list[Told]:
    return [event for animal in told["animals"] for event in animal["events"] if event["kind"] in kinds]


def _dig(told: Told) -> Told:
    """The first animal's first dig."""
    return next(event for event in told["animals"][0]["events"] if event["kind"] in DIGS)


def _stage(event: Told, name: str) -> Span:
    return _span(next(stage for stage in event["stages"] if stage["stage"] == name))


def _nuisance(told: Told, kind: str) -> Span:
    return _span(next(one for one in told["nuisances"] if one["kind"] == kind))


def _common(one: Span, two: Span) -> float:
    """Minutes that two spans share."""
    return max((min(one[1], two[1]) - max(one[0], two[0])).total_seconds() / 60, 0.0)


def _minutes(span: Span) -> float:
    return (span[1] - span[0]).total_seconds() / 60


@pytest.mark.parametrize("family", FAMILIES)
def test_the_night_and_its_twin(family: str, tmp_path: Path) -> None:
    for seed in SEEDS:
        night, twin = _truth(family, seed), _truth(family, seed, digging=False)
        variant = night.get("variant", 0)
        assert len(_events(night, "nest")) >= ((family, variant) not in WITHOUT_A_NEST)
        assert _events(twin, *DIGS, "raid") == []
        # The same pen, cameras and clocks, and the same weather; only a raider finds nothing to dig up.
        assert site_text(_story(family, seed)) == site_text(_story(family, seed, digging=False))
        assert [one for one in night["nuisances"] if one["kind"] != "raider"] == [
            one for one in twin["nuisances"] if one["kind"] != "raider"
        ]
        rests = _events(twin, "rest")
        if seed % 2:
            assert {_span(event) for event in _events(night, *DIGS)} <= {_span(event) for event in rests}
        else:
            assert _span(_dig(night)) not in [_span(event) for event in rests]
    site = tmp_path / "site.toml"
    site.write_text(site_text(_story(family, 0)), encoding="utf-8")
    assert load_site(site).cameras


def test_no_camera_has_a_sliver_for_a_zone(tmp_path: Path) -> None:
    """With seed 2004 the second camera sees 24 square pixels of the pond, which no keeper would outline and
    a site file may not hold."""
    site = tmp_path / "site.toml"
    for seed in range(2000, 2010):
        site.write_text(site_text(_story("two-cameras", seed)), encoding="utf-8")
        cameras = load_site(site).cameras
        assert len(cameras) == 2
        assert all(camera.zones_of("nesting") for camera in cameras)


@pytest.mark.parametrize("family", [family for family in FAMILIES if family != "cut-short"])
def test_half_an_hour_or_nearly_lies_before_and_after(family: str) -> None:
    for seed in SEEDS:
        told = _truth(family, seed)
        night = _span(told)
        for event in _events(told, *DIGS):
            start, end = _span(event)
            assert start - night[0] >= timedelta(minutes=25)
            assert night[1] - end >= timedelta(minutes=25)


@pytest.mark.parametrize("family", FAMILIES)
def test_other_families_are_other_nights(family: str) -> None:
    others = [other for other in FAMILIES if other != family]
    mine = _dig(_truth(family, 3))["chamber_m"]
    assert mine not in [_dig(_truth(other, 3))["chamber_m"] for other in others]


# What each family promises ---------------------------------------------------------------------------


def _dusk(family: str, seed: int) -> datetime:
    story = _story(family, seed)
    dusk = make_dusk(story.scenario, story.clock, stream(story.seed, "dusk"))
    return story.clock.wall(dusk.dark_from)


def _dusk_while_digging(seed: int) -> bool:
    start, end = _stage(_dig(_truth("dusk-while-digging", seed)), "dig")
    return start < _dusk("dusk-while-digging", seed) < end


def _dusk_before_digging(seed: int) -> bool:
    """While she looks about, or while she rests before."""
    told = _truth("dusk-while-searching", seed)
    switch = _dusk("dusk-while-searching", seed)
    dig = _dig(told)
    if told["variant"] == 0:
        return datetime.fromisoformat(dig["wander_from"]) < switch < _stage(dig, "dig")[0]
    start, end = _span(_events(told, "rest")[0])
    return start < switch < end


def _during(family: str, kind: str, stages: tuple[str, ...], minutes: float) -> Callable[[int], bool]:
    """Whether the disturbance lasts that long within some stages of the dig."""

    def holds(seed: int) -> bool:
        told = _truth(family, seed)
        when = _nuisance(told, kind)
        return sum(_common(when, _stage(_dig(told), stage)) for stage in stages) >= minutes

    return holds


def _rain_begins_mid_dig(seed: int) -> bool:
    told = _truth("rain-mid-dig", seed)
    start, end = _stage(_dig(told), "dig")
    begins, ends = _nuisance(told, "rain")
    return start + timedelta(minutes=4) < begins < end and _span(told)[1] - ends > timedelta(minutes=110)


def _gap_inside(seed: int) -> bool:
    told = _truth("gap-in-dig", seed)
    (gap,) = (_span(gap) for gap in told["gaps"])
    start, end = _stage(_dig(told), "dig")
    return start < gap[0] and gap[1] < end and _minutes(gap) == 30


def _cut_short(seed: int) -> bool:
    """By variant the recording begins in the dig, or ends before she leaves."""
    told = _truth("cut-short", seed)
    night, (start, end) = _span(told), _span(_dig(told))
    recorded = [night[0], night[1]]
    for gap in (_span(gap) for gap in told.get("gaps", ())):
        if gap[0] == night[0]:
            recorded[0] = gap[1]
        else:
            recorded[1] = gap[0]
    begun = _stage(_dig(told), "dig")[0] < recorded[0] < _stage(_dig(told), "dig")[1]
    left = start < recorded[1] < end
    return begun != left and _common((recorded[0], recorded[1]), (start, end)) > 20


def _camouflaged(seed: int) -> bool:
    story = _story("camouflaged", seed)
    video = story.scenario.video
    (actor,) = story.actors
    assert (video.codec, video.gop_s, video.crf >= 34) == ("libx265", 16, True)
    # Levels apart where the lamp is brightest: at most 2.4 % of at most 150 - 16 levels.
    return abs(actor.contrast) * (story.scenario.light.ir_level[1] - 16) <= 3.3


def _given_up(seed: int) -> bool:
    told = _truth("given-up", seed)
    if told["variant"] == 0:
        return _minutes(_stage(_dig(told), "dig")) >= 100 and not _events(told, "nest")
    (old,) = told["animals"][0]["earlier"]
    (nest,) = _events(told, "nest")
    apart = hypot(*(a - b for a, b in zip(old["chamber_m"], nest["chamber_m"], strict=True)))
    return bool(old["kind"] == "trial" and apart < 0.017 * told["animals"][0]["shell_cm"])


def _male_follows(seed: int) -> bool:
    told = _truth("male-follows", seed)
    (follows,) = _events(told, "follow")
    return _common(_span(follows), _span(_dig(told))) > 0.5 * _minutes(_span(_dig(told)))


def _walked_over(seed: int) -> bool:
    told = _truth("walked-over", seed)
    (passes,) = _events(told, "pass")
    over, dig = _span(passes), _dig(told)
    return over[0] > _span(dig)[1] if told["variant"] == 0 else _common(over, _stage(dig, "dig")) > 0


def _two_close(seed: int) -> bool:
    told = _truth("two-close", seed)
    one, two = _events(told, "nest")
    apart = hypot(*(a - b for a, b in zip(one["chamber_m"], two["chamber_m"], strict=True)))
    together = _common(_span(one), _span(two)) > 0
    lengths = float(100 * apart / told["animals"][0]["shell_cm"])
    return 0.99 <= lengths <= 1.61 and together == (told["variant"] == 1)


def _raid(seed: int) -> bool:
    told = _truth("raid", seed)
    (raid,), nest = _events(told, "raid"), _dig(told)
    return bool(
        raid["chamber_m"] == nest["chamber_m"]
        and 5 <= _minutes(_span(raid)) <= 20.1
        and _span(raid)[0] - _span(nest)[1] > timedelta(minutes=30)
        and _span(raid)[1] < _span(told)[1]
    )


def _dawn(seed: int) -> bool:
    told = _truth("dawn", seed)
    story = _story("dawn", seed)
    day = story.clock.wall(make_dusk(story.scenario, story.clock, stream(story.seed, "dusk")).dark_to)
    end = _span(_dig(told))[1]
    return 3 <= end.hour < 5 and end < day < _span(told)[1] - timedelta(hours=1)


def _toad(seed: int) -> bool:
    told = _truth("toad", seed)
    (sits,) = _events(told, "sit")
    story = _story("toad", seed)
    return 59 <= _minutes(_span(sits)) <= 181 and story.layout.in_nesting(tuple(sits["body_m"]))


def _setting(family: str, key: str, low: float, high: float) -> Callable[[int], bool]:
    """Whether a setting of the family's disturbances lies in a range."""
    return lambda seed: any(low <= one.get(key, -1) <= high for one in _truth(family, seed)["nuisances"])


PROMISES: dict[str, Callable[[int], bool]] = {
    "dusk-while-digging": _dusk_while_digging,
    "dusk-while-searching": _dusk_before_digging,
    "gain-pumping": _during("gain-pumping", "gain_pump", ("dig", "lay"), 30),
    "rain-mid-dig": _rain_begins_mid_dig,
    "dew": _during("dew", "dew", ("dig", "lay", "cover"), 20),
    "moving-shadows": _during("moving-shadows", "shadow", ("dig", "lay", "cover"), 55),
    "plants-over": lambda seed: len(_story("plants-over", seed).layout.screen) >= 2,
    "moths": _setting("moths", "per_minute", 100, 300),
    "web": lambda seed: 80 <= _minutes(_nuisance(_truth("web", seed), "web")) <= 155,
    "gap-in-dig": _gap_inside,
    "cut-short": _cut_short,
    "camouflaged": _camouflaged,
    "given-up": _given_up,
    "male-follows": _male_follows,
    "walked-over": _walked_over,
    "two-close": _two_close,
    "packed": lambda seed: _dig(_truth("packed", seed))["ground_change"] == 0,
    "raid": _raid,
    "dawn": _dawn,
    "toad": _toad,
    "fog": _during("fog", "fog", ("dig", "lay"), 25),
}


@pytest.mark.parametrize("family", sorted(PROMISES))
def test_a_family_keeps_its_promise(family: str) -> None:
    assert [seed for seed in SEEDS if not PROMISES[family](seed)] == []


def _video(family: str) -> list[Any]:
    return [_story(family, seed).scenario.video for seed in range(5)]


def test_five_seeds_in_a_row_cover_every_variant() -> None:
    assert sorted(video.fps for video in _video("frame-rates")) == [1, 2, 5, 15, 25]
    assert sorted(video.size for video in _video("picture-sizes"))[:: len(_video("picture-sizes")) - 1] == [
        (640, 360),
        (3840, 2160),
    ]
    for family in FAMILIES:
        count = len(load_scenario(f"hard/{family}").variant)
        assert count <= 5
        if count:
            assert {_truth(family, seed)["variant"] for seed in range(2002, 2007)} == set(range(count))


def test_shells_are_eight_to_thirty_pixels_long() -> None:
    # The length as seen, so shorter for an animal that points at the camera; the middle of twenty seeds.
    lengths = [
        sorted(
            _dig(truth(make_story(load_scenario("hard/shell-sizes"), seed)))["per_camera"]["sandbank"][
                "shell_px"
            ]
            for seed in range(variant, 100, 5)
        )[10]
        for variant in range(5)
    ]
    assert lengths == sorted(lengths)
    assert lengths[0] == pytest.approx(8, abs=1.5)
    assert lengths[-1] == pytest.approx(30, abs=3)


def test_two_cameras_disagree_about_the_time() -> None:
    ahead = [_truth("two-cameras", seed).get("clock_ahead_s", {}) for seed in SEEDS]
    assert all(set(one) <= {"eastside"} and abs(one.get("eastside", 0)) <= 120 for one in ahead)
    assert sum(abs(one.get("eastside", 0)) > 5 for one in ahead) >= 8
    assert all(
        set(_dig(_truth("two-cameras", seed))["per_camera"]) == {"sandbank", "eastside"} for seed in SEEDS
    )
    assert "clock_error_s" not in site_text(_story("two-cameras", 1))
