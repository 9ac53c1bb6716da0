"""Marks that cannot be right are named: swapped, off, too few to tell."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from nestwatch.site import load_site, site_notes
from nestwatch.site.lens import lens_of
from nestwatch.site.marks import marks_doubt, marks_trouble, paired_covariance
from nestwatch.site.records import Mark, Post
from tests.site.cameras import PICTURE, RING, seen
from tests.site.sites import GOOD, written

Floats = NDArray[np.float64]


def pointed(count: int = 8, *, seed: int = 0, bend: float = -0.15) -> tuple[list[Mark], list[Post]]:
    """Posts taped to 1 cm and clicked to 2 px."""
    rng = np.random.default_rng(seed)
    plan = RING[:count] + rng.normal(0, 0.01, (count, 2))
    pixels = seen(RING[:count], bend=bend) + rng.normal(0, 2, (count, 2))
    posts = [Post(f"p{n}", (float(x), float(y))) for n, (x, y) in enumerate(plan)]
    marks = [Mark(f"p{n}", (float(x), float(y))) for n, (x, y) in enumerate(pixels)]
    return marks, posts


def doubt(marks: list[Mark], posts: list[Post]) -> str | None:
    return marks_doubt(marks, posts, lens_of(PICTURE), np.eye(2 * len(posts)) * 1e-4)


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("count", [4, 6, 8])
def test_sound_marks_are_not_doubted(count: int, seed: int) -> None:
    assert doubt(*pointed(count, seed=seed)) is None


@pytest.mark.parametrize("wrong", range(8))
def test_a_far_off_mark_is_named_with_where_it_should_be(wrong: int) -> None:
    marks, posts = pointed()
    x, y = marks[wrong].pixel
    spoiled = [*marks[:wrong], replace(marks[wrong], pixel=(x + 80.0, y - 60.0)), *marks[wrong + 1 :]]
    said = doubt(spoiled, posts)
    assert said is not None
    assert f'"p{wrong}"' in said
    if said.startswith(f'"p{wrong}" does not fit the other marks'):
        near = [float(part) for part in said.split("near (")[1].split(")")[0].split(", ")]
        assert np.hypot(near[0] - x, near[1] - y) < 25
    else:  # where the others nearly allow it, all that explain it alike are named
        assert said.startswith("one of ")


def test_most_far_off_marks_are_named_alone() -> None:
    alone = 0
    for wrong in range(8):
        marks, posts = pointed(seed=wrong)
        x, y = marks[wrong].pixel
        said = doubt([*marks[:wrong], Mark(f"p{wrong}", (x - 50.0, y + 35.0)), *marks[wrong + 1 :]], posts)
        alone += bool(said and said.startswith(f'"p{wrong}" does not fit'))
    assert alone >= 6


@pytest.mark.parametrize("pair", [(0, 4), (5, 6), (3, 7), (2, 6)])
def test_swapped_marks_are_named(pair: tuple[int, int]) -> None:
    marks, posts = pointed()
    one, two = pair
    marks[one], marks[two] = Mark(f"p{one}", marks[two].pixel), Mark(f"p{two}", marks[one].pixel)
    said = doubt(marks, posts)
    assert said == f'"p{one}" and "p{two}" are probably swapped; exchange their posts'


def test_a_wrong_distance_to_a_post_shows_too() -> None:
    marks, posts = pointed()
    posts[6] = replace(posts[6], at=(posts[6].at[0] + 0.25, posts[6].at[1]))
    said = doubt(marks, posts)
    assert said is not None
    assert said.startswith('"p6" does not fit')
    assert said.endswith("or measure its post")


def test_two_wrong_marks_are_too_many_to_name() -> None:
    marks, posts = pointed()
    for n, by in ((1, 60.0), (5, -70.0)):
        marks[n] = Mark(f"p{n}", (marks[n].pixel[0] + by, marks[n].pixel[1] + by))
    assert doubt(marks, posts) == "more than one mark is wrong; point at all of them again"


def test_five_marks_can_contradict_but_not_tell_which() -> None:
    marks, posts = pointed(5)
    marks[4] = Mark("p4", (marks[4].pixel[0] + 80.0, marks[4].pixel[1] - 90.0))
    said = doubt(marks, posts)
    assert said == '"p0", "p1", "p2", "p3" and "p4" contradict each other; point at them again, or add marks'


def test_trouble_comes_before_doubt() -> None:
    marks, posts = pointed()
    assert marks_trouble(marks, posts) is None
    marks[3] = Mark("p3", marks[2].pixel)
    assert (
        marks_trouble(marks, posts)
        == '"p2" and "p3" lie at the same place in the picture; correct one of them'
    )


def test_covariance_follows_the_order_of_the_marks() -> None:
    marks = [Mark("b", (0, 0)), Mark("a", (1, 1))]
    posts = [Post("a", (0, 0)), Post("b", (1, 1))]
    covariance = np.diag([1.0, 2.0, 3.0, 4.0])
    np.testing.assert_array_equal(np.diag(paired_covariance(marks, posts, covariance)), [3, 4, 1, 2])


def test_check_says_it(tmp_path: Path) -> None:
    marks, posts = pointed()
    marks[6] = Mark("p6", (marks[6].pixel[0] + 45.0, marks[6].pixel[1] + 30.0))
    inside = [n for n, m in enumerate(marks) if 0 <= m.pixel[0] <= 960 and 0 <= m.pixel[1] <= 540]
    extra = [Post(f"q{n}", at) for n, at in enumerate([(0.6, 1.0), (3.7, 1.2), (2.2, 1.8)])]
    places = seen(np.array([post.at for post in extra]), bend=-0.15)
    pens = "".join(
        f'[[pen.post]]\nname = "{post.name}"\nat = [{post.at[0]}, {post.at[1]}]\n'
        for post in [*posts, *extra]
    )
    points = "".join(
        f'[[camera.mark]]\npost = "{mark.post}"\npixel = [{mark.pixel[0]}, {mark.pixel[1]}]\n'
        for mark in [
            *(marks[n] for n in inside),
            *(Mark(post.name, (x, y)) for post, (x, y) in zip(extra, places.tolist(), strict=True)),
        ]
    )
    head, tail = GOOD.split("[[camera]]\n")
    text = head + pens + "[[camera]]\n" + tail.split("[[camera.mark]]")[0] + points
    notes = site_notes(load_site(written(tmp_path, text)))
    assert any(
        note.startswith('camera "sandbank", marks: "p6" does not fit the other marks') for note in notes
    )
