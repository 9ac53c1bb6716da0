"""Labels keep apart, and the map is to scale."""

from __future__ import annotations

import itertools
import math
import random
import re
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nestwatch.report.marking.setting import Box
from nestwatch.season.tally.page.pen_map import pen_map
from nestwatch.season.tally.page.placing import Mark, nearest_point, placed_labels
from nestwatch.season.tally.records import MapNest
from tests.season.tally.page_seasons import a_pen

ROOM = Box(0, 0, 96, 70)
PLACES = st.lists(st.tuples(st.floats(2, 94), st.floats(2, 68)), max_size=40)


def meet(one: Box, other: Box) -> bool:
    beside = one.right <= other.left or other.right <= one.left
    return not beside and one.top < other.bottom and other.top < one.bottom


@settings(max_examples=60, deadline=None)
@given(PLACES, st.floats(2, 30))
def test_no_label_covers_another_or_a_mark_or_leaves_the_room(
    places: list[tuple[float, float]], width: float
) -> None:
    marks = [Box(x - 0.85, y - 0.85, 1.7, 1.7) for x, y in places]
    found = placed_labels([Mark(place, width, 3.0) for place in places], ROOM, marks)
    boxes = [box for box in found if box is not None]
    assert len(found) == len(places)
    assert not any(meet(one, other) for one, other in itertools.combinations(boxes, 2))
    assert not any(meet(box, mark) for box in boxes for mark in marks)
    assert all(
        box.left >= 0 and box.right <= ROOM.right and box.top >= 0 and box.bottom <= ROOM.bottom
        for box in boxes
    )


def test_a_lone_mark_in_the_middle_always_has_its_label_near() -> None:
    (box,) = placed_labels([Mark((48.0, 35.0), 10.0, 3.0)], ROOM, [])
    assert box is not None
    assert math.dist(nearest_point(box, (48.0, 35.0)), (48.0, 35.0)) == pytest.approx(1.6)


@pytest.mark.parametrize(("place", "side"), [((10.0, 60.0), "left"), ((80.0, 60.0), "right")])
def test_names_stand_on_the_side_away_from_the_pen(place: tuple[float, float], side: str) -> None:
    (box,) = placed_labels([Mark(place, 6.0, 3.0)], ROOM, [], away=(48.0, 35.0))
    assert box is not None
    assert (box.right < place[0]) == (side == "left")


def nests(count: int, *, seed: int = 3) -> dict[int, MapNest]:
    dice = random.Random(seed)
    places = [(dice.uniform(0.1, 4.1), dice.uniform(0.1, 2.9)) for _ in range(count)]
    return {
        n: MapNest("sand pen", place, 0.05, date(2026, 6, 1 + n % 28), "1", 2026, "Ada")
        for n, place in enumerate(places, start=1)
    }


def paths(svg: str, width: str) -> list[list[float]]:
    """Numbers of the paths that are drawn with a line of that width."""
    found = re.findall(rf'<path d="([^"]*)"[^>]*stroke-width="{width}"', svg)
    return [[float(number) for number in re.findall(r"-?[\d.]+", path)] for path in found]


@pytest.mark.parametrize(("units", "metres"), [("metric", 1.0), ("imperial", 0.9144 / 3 * 5)])
def test_the_bar_is_as_long_as_it_says(units: str, metres: float) -> None:
    """The pen's outline is 4.2 m long on the paper by the same measure as the bar (a foot is 0.3048 m)."""
    svg = str(pen_map(a_pen(), nests(3), (), 2026, units, "a").svg)  # type: ignore[arg-type]
    (outline,) = paths(svg, "1.3")
    (bar,) = paths(svg, "2")
    per_m = (max(outline[::2]) - min(outline[::2])) / 4.2
    assert (bar[2] - bar[0]) / per_m == pytest.approx(metres, rel=0.01)


def test_few_nests_are_labelled_in_full_and_none_is_left_out() -> None:
    drawn = pen_map(a_pen(), nests(12), (), 2026, "metric", "a")
    assert drawn.unlabelled == ()
    assert drawn.outside == ()


def test_thirty_nests_in_a_pen_of_a_stride_lose_few_numbers_and_say_which() -> None:
    small = a_pen(width=1.0, height=0.8)
    crowd = {n: MapNest("p", (nest.plan_m[0] / 5, nest.plan_m[1] / 5), 0.05, nest.night, "1", 2026, None)
             for n, nest in nests(30).items()}  # fmt: skip
    drawn = pen_map(small, crowd, (), 2026, "metric", "a")
    assert len(drawn.unlabelled) <= 5
    assert set(drawn.unlabelled) < set(crowd)
