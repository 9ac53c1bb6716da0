"""Larger animals at nests: where they stop, what is a raid and what is not."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from nestwatch.ground.records import Blob
from nestwatch.nesting.raid import (
    NO_TURTLE,
    Lingering,
    Nest,
    Raid,
    by_visit,
    came_for,
    find_raids,
    larger_animal,
    no_turtle,
    of_one_body,
    opened,
    opened_until,
)
from nestwatch.nesting.records import Dig, Visitor
from nestwatch.nesting.stops import StopSpan, find_stops
from tests.report.scenes import a_dig, local

REACH = 45.0
"""Skim pixels."""


def patches(
    first: float, last: float, size: float, *, column: float = 100.0, speed: float = 0.0
) -> list[Blob]:
    times = np.arange(first, last + 0.1, 4.0)
    return [Blob(float(t), 80.0, column + speed * float(t - first), size, 9.0, 9.0, 20.0) for t in times]


def stops(blobs: list[Blob]) -> list[StopSpan]:
    return find_stops(blobs, lambda blob: blob.area, large=5.0, medium=0.8, reach=REACH)


def test_a_digging_raider_makes_one_stop_from_coming_to_going() -> None:
    """It walks in, works for ten minutes with paws and head only, and walks off."""
    way_in, way_out = patches(1000, 1020, 8, column=300, speed=-10), patches(1624, 1644, 8, speed=10)
    (stop,) = stops([*way_in, *patches(1020, 1620, 1.5), *way_out])
    assert (stop.start, stop.end) == pytest.approx((1020, 1628), abs=8)
    assert abs(stop.column - 100) < REACH


def test_one_that_trots_through_makes_no_stop() -> None:
    assert stops(patches(1000, 1200, 8, column=0, speed=10)) == []


def test_a_turtle_digging_where_a_raccoon_walks_by_is_no_stop() -> None:
    """Her limbs are small patches for an hour; the large ones last seconds."""
    assert stops([*patches(0, 3600, 1.2), *patches(1000, 1016, 8, speed=10)]) == []


def test_an_hour_apart_are_two_stops() -> None:
    found = stops([*patches(1000, 1100, 8), *patches(4600, 4700, 8)])
    assert [(stop.start, stop.end) for stop in found] == [(1000, 1100), (4600, 4700)]


def nest(**changes: object) -> Nest:
    plain = Nest(
        "the nest of 21:14", local("23:18"), "sand pen", (2.7, 0.72), "sandbank", (531.0, 424.0), 90.0, 0
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def lingering(start: str, end: str, **changes: object) -> Lingering:
    plain = Lingering(
        "sandbank", "sand pen", "larger animal", local(start), local(end), (560.0, 400.0), (2.8, 0.9)
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def spans(raids: list[Raid]) -> list[tuple[str, str]]:
    return [(f"{r.start:%H:%M}", f"{r.end:%H:%M}") for r in raids]


def test_an_animal_at_a_nest_for_minutes_is_a_raid() -> None:
    (raid,) = find_raids([lingering("03:40", "03:52")], [nest()])
    assert (raid.start, raid.end, raid.dig) == (local("03:40"), local("03:52"), 0)
    assert raid.nest == "the nest of 21:14"


@pytest.mark.parametrize(
    ("start", "end", "changes"),
    [
        pytest.param("03:40", "03:41", {}, id="for a minute only"),
        pytest.param("21:40", "21:52", {}, id="while she digs"),
        pytest.param("23:10", "23:19", {}, id="hardly after she left"),
        pytest.param("03:40", "03:52", {"pixel": (200.0, 100.0)}, id="elsewhere in this camera"),
        pytest.param("03:40", "03:52", {"camera": "shed", "plan_m": (1.0, 2.0)}, id="elsewhere on the plan"),
        pytest.param("03:40", "03:52", {"camera": "shed", "pen": "other"}, id="in another pen"),
        pytest.param("03:40", "03:52", {"camera": "shed", "plan_m": None}, id="in a camera without marks"),
    ],
)
def test_no_raid(start: str, end: str, changes: dict[str, object]) -> None:
    assert find_raids([lingering(start, end, **changes)], [nest()]) == []


def test_another_camera_sees_it_by_the_plan() -> None:
    (raid,) = find_raids([lingering("03:40", "03:52", camera="shed", pixel=(9.0, 9.0))], [nest()])
    assert (raid.camera, raid.pixel) == ("shed", (9.0, 9.0))


def test_two_cameras_tell_of_one_raid_and_the_longer_sight_counts() -> None:
    both = [lingering("03:42", "03:50"), lingering("03:40", "03:52", camera="shed")]
    assert [raid.camera for raid in find_raids(both, [nest()])] == ["shed"]


def test_a_visit_is_warned_of_once_with_every_place_it_was_at() -> None:
    """The hole that the raider leaves is a dig of its own, whose end nobody saw: it tells no times."""
    (dug,) = find_raids([lingering("01:00", "01:10")], [nest()])
    hole = replace(dug, start=local("01:05"), end=local("02:05"), nest="the unclear dig of 01:05", dig=1)
    (once,) = by_visit([hole, dug])
    assert once == replace(dug, nest="the nest of 21:14 and the unclear dig of 01:05")
    later = replace(dug, start=local("03:00"), end=local("03:05"))
    assert by_visit([later, hole, dug]) == [once, later]
    elsewhere = replace(hole, camera="other")
    assert by_visit([elsewhere, dug]) == [dug, elsewhere]


def test_short_stops_close_to_each_other_are_one_visit() -> None:
    parts = [lingering("03:40", "03:41"), lingering("03:43", "03:44"), lingering("04:30", "04:31")]
    raids = find_raids(parts, [nest()])
    assert [(raid.start, raid.end) for raid in raids] == [(local("03:40"), local("03:44"))]


def test_a_nest_of_an_earlier_night_can_be_raided() -> None:
    known = Nest("nest 7 of 10 June", local("16:00"), "sand pen", (2.7, 0.72))
    (raid,) = find_raids([lingering("03:40", "03:52")], [known])
    assert (raid.nest, raid.dig) == ("nest 7 of 10 June", None)


def test_the_stay_of_a_larger_animal_is_never_a_nest() -> None:
    dig = a_dig("03:40", "03:52", call="nest", likelihood=0.9)
    own = lingering("03:41", "03:52", pixel=dig.body)
    assert larger_animal(dig, [own], reach_px=90.0)
    assert not larger_animal(dig, [replace(own, pixel=(9.0, 9.0))], reach_px=90.0)
    assert not larger_animal(dig, [replace(own, end=own.start + timedelta(minutes=3))], reach_px=90.0)
    told = no_turtle(dig)
    assert (told.call, told.likelihood, told.reasons[0]) == ("unclear", 0.5, NO_TURTLE)
    assert no_turtle(replace(dig, call="rest", likelihood=0.1)).call == "rest"


def visit(start: str, end: str) -> Visitor:
    return Visitor("sandbank", local(start), local(end), "larger animal", (560.0, 400.0))


def test_a_stay_that_begins_as_a_larger_animal_comes_is_its_own() -> None:
    """Over the nest it moves too little to be seen as large; what it leaves behind looks like a stay."""
    dig, scar = a_dig("03:48", "05:10", call="rest"), a_dig("02:38", "03:48", call="rest")
    visits = [visit("03:47", "03:48"), visit("03:53", "03:54")]
    assert came_for(dig, [dig, scar], visits) == ("larger animal", local("03:54"))
    short = replace(dig, end=local("03:58"))
    assert came_for(short, [short], visits[:1]) == ("larger animal", local("03:58"))


@pytest.mark.parametrize(
    ("dig", "visits"),
    [
        pytest.param(a_dig("03:48", "05:10", call="nest"), [visit("03:47", "03:48")], id="her own nest"),
        pytest.param(a_dig("03:48", "05:10", call="rest"), [visit("03:30", "03:31")], id="long before"),
        pytest.param(a_dig("03:48", "05:10", call="rest"), [], id="nobody came"),
        pytest.param(
            a_dig("03:48", "05:10", call="rest"),
            [visit(f"03:{minute}", f"03:{minute + 1}") for minute in (30, 36, 42, 47, 53)],
            id="moths all the time",
        ),
    ],
)
def test_a_stay_of_somebody_else(dig: Dig, visits: list[Visitor]) -> None:
    assert came_for(dig, [dig], visits) is None


def test_what_begins_as_a_dig_ends_is_its_scar() -> None:
    dig, nest_before = a_dig("03:48", "05:10", call="rest"), a_dig("02:00", "03:47", call="nest")
    assert came_for(dig, [dig, nest_before], [visit("03:47", "03:48")]) is None


def test_two_stays_beside_each_other_that_come_and_go_together_are_one_body() -> None:
    dig = a_dig("03:41", "03:51", call="trial")
    beside = replace(dig, body=(dig.body[0] + 60.0, dig.body[1]), call="rest")
    assert of_one_body(dig, [dig, beside], reach_px=90.0)
    assert not of_one_body(dig, [dig], reach_px=90.0)
    assert not of_one_body(dig, [dig, beside], reach_px=40.0)
    assert not of_one_body(dig, [dig, replace(beside, end=local("03:58"))], reach_px=90.0)
    assert not of_one_body(replace(dig, call="nest"), [dig, beside], reach_px=90.0)
    assert not of_one_body(replace(dig, start_seen=False), [dig, beside], reach_px=90.0)
    hours = a_dig("01:41", "03:51", call="trial")
    assert not of_one_body(hours, [hours, replace(hours, body=beside.body)], reach_px=90.0)
    hole = replace(beside, end=local("05:10"), end_seen=False)
    assert of_one_body(dig, [dig, hole], reach_px=90.0)


def test_a_nest_on_which_something_stays_later_or_the_ground_changes_was_opened() -> None:
    before, hole = a_dig("21:14", "23:18"), replace(a_dig("03:55", "05:10", call="rest"), end_seen=False)
    assert opened(hole, [before, hole], reach_px=20.0)
    assert opened_until(hole) == local("04:00"), "the hole stays: when it was left is not known"
    assert opened_until(a_dig("03:42", "03:54")) == local("03:54")
    assert not opened(replace(hole, end_seen=True), [before, hole], reach_px=20.0)
    assert opened(a_dig("03:42", "03:54", call="rest"), [before], reach_px=20.0)
    assert not opened(a_dig("03:42", "03:54", call="nest"), [before], reach_px=20.0)
    assert not opened(hole, [replace(before, call="trial"), hole], reach_px=20.0)
    assert not opened(hole, [a_dig("21:14", "03:50"), hole], reach_px=20.0)
    elsewhere = replace(hole, chamber=(hole.chamber[0] + 30.0, hole.chamber[1]))
    assert not opened(elsewhere, [before, elsewhere], reach_px=20.0)
