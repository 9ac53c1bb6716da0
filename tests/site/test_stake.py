"""Finding a place with a tape: arcs from two posts and distances from walls, against trigonometry by hand."""

from __future__ import annotations

from math import cos, degrees, radians, sin

import numpy as np
import pytest

from nestwatch.site.records import Pen, Point, Post
from nestwatch.site.stake import best_arcs, from_wall

PEN = Pen(
    "sand",
    ((0, 0), (8, 0), (8, 6), (0, 6)),
    (Post("sw", (0, 0)), Post("se", (8, 0)), Post("ne", (8, 6)), Post("nw", (0, 6))),
)


def test_arcs_by_hand_3_4_5() -> None:
    """(3, 4) is 5 m from (0, 0); with a post at (3, 0) 4 m away the angle at the place has cosine 4/5."""
    arcs = best_arcs([Post("o", (0, 0)), Post("r", (3, 0))], (3, 4))
    assert arcs is not None
    assert (arcs.first, arcs.second) == ("o", "r")
    assert (arcs.first_m, arcs.second_m) == (5.0, 4.0)
    assert arcs.crossing_deg == pytest.approx(36.8699, abs=1e-4)
    assert arcs.side == "left"


@pytest.mark.parametrize("place", [(3.0, 4.0), (3.0, -4.0)])
def test_the_side_tells_the_two_crossings_apart(place: Point) -> None:
    """Looking along +x, +y is on the left. The arcs cross at both places; the distances are the same."""
    arcs = best_arcs([Post("o", (0, 0)), Post("r", (6, 0))], place)
    assert arcs is not None
    assert arcs.side == ("left" if place[1] > 0 else "right")
    assert arcs.first_m == arcs.second_m == 5.0


def test_the_posts_whose_arcs_cross_best_are_taken() -> None:
    """From (4, 1) in a pen of 8 x 6 m, by hand: sw (4.12 m away) and nw (6.40 m) are seen under
    atan(1/4) + atan(5/4) = 65.4 degrees; their tapes are off by 1.59 and 2.17 cm, the place by
    sqrt(1.59^2 + 2.17^2) / sin 65.4 = 2.96 cm. nw and ne cross at 77.3 degrees but are both far: 3.14 cm.
    sw and se are near and cross at 152 degrees: 4.78 cm. The east side is the west one's mirror image."""
    arcs = best_arcs(PEN.posts, (4.0, 1.0))
    assert arcs is not None
    assert {arcs.first, arcs.second} in ({"sw", "nw"}, {"se", "ne"})
    assert arcs.crossing_deg == pytest.approx(degrees(np.arctan2(1, 4) + np.arctan2(5, 4)), abs=1e-9)
    assert arcs.off_m == pytest.approx(0.0296, abs=1e-4)
    top, bottom = best_arcs(PEN.posts[2:], (4.0, 1.0)), best_arcs(PEN.posts[:2], (4.0, 1.0))
    assert top is not None
    assert bottom is not None
    assert top.off_m == pytest.approx(0.0314, abs=1e-4)
    assert bottom.off_m == pytest.approx(0.0478, abs=1e-4)


@pytest.mark.parametrize("angle", [20, 60, 90, 140])
def test_the_stated_error_is_what_happens(angle: float) -> None:
    """Two tapes off by their stated errors, arcs cut again, 4000 times: root mean square, within 5 %."""
    place = np.array([0.0, 0.0])
    posts = [Post("a", (3.0, 0.0)), Post("b", (2 * cos(radians(angle)), 2 * sin(radians(angle))))]
    arcs = best_arcs(posts, (0.0, 0.0))
    assert arcs is not None
    rng = np.random.default_rng(8)
    sigmas = np.hypot(0.01, 0.003 * np.array([3.0, 2.0]))
    directions = np.array([(place - post.at) / np.linalg.norm(post.at) for post in posts])
    moved = np.linalg.solve(directions, (rng.normal(0, 1, (4000, 2)) * sigmas).T)
    assert arcs.off_m == pytest.approx(np.sqrt(np.square(moved).sum(axis=0).mean()), rel=0.05)
    assert arcs.crossing_deg == pytest.approx(min(angle, 180 - angle))


def test_on_the_line_of_two_posts_there_is_no_side() -> None:
    arcs = best_arcs(PEN.posts[:2], (3.0, 0.0))
    assert arcs is not None
    assert arcs.side == "between"
    assert arcs.off_m > 1e6


def test_a_post_in_the_way_is_not_used_and_one_post_is_not_enough() -> None:
    arcs = best_arcs(PEN.posts, (0.05, 0.0))
    assert arcs is not None
    assert "sw" not in (arcs.first, arcs.second)
    assert best_arcs(PEN.posts[:1], (1.0, 1.0)) is None
    assert best_arcs([], (1.0, 1.0)) is None


@pytest.mark.parametrize(
    ("place", "start", "end", "along", "out"),
    [
        pytest.param((3.0, 0.5), "sw", "se", 3.0, 0.5, id="south wall from the nearer corner"),
        pytest.param((7.0, 0.5), "se", "sw", 1.0, 0.5, id="south wall from the other corner"),
        pytest.param((0.4, 5.0), "nw", "sw", 1.0, 0.4, id="west wall"),
        pytest.param((7.2, 2.0), "se", "ne", 2.0, 0.8, id="east wall"),
        pytest.param((3.0, -0.2), "sw", "se", 3.0, -0.2, id="outside"),
    ],
)
def test_along_and_out_from_the_nearest_wall(
    place: Point, start: str, end: str, along: float, out: float
) -> None:
    found = from_wall(PEN, place)
    assert (found.start_post, found.end_post) == (start, end)
    assert found.along_m == pytest.approx(along)
    assert found.out_m == pytest.approx(out)


def test_a_slanting_wall_by_hand() -> None:
    """Wall from (0, 0) to (4, 3): 2 m along, 1 m out to the left: (1.6, 1.2) + (-0.6, 0.8) = (1.0, 2.0)."""
    pen = Pen("p", ((0, 0), (4, 3), (0, 9)), ())
    found = from_wall(pen, (1.0, 2.0))
    assert found.along_m == pytest.approx(2.0)
    assert found.out_m == pytest.approx(1.0)
    assert (found.start, found.end) == ((0, 0), (4, 3))
    assert found.start_post is None
