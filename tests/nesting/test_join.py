"""Digs of several cameras joined: who goes with whom, and what is said of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import permutations

import numpy as np
import pytest

from nestwatch.nesting import join
from nestwatch.nesting.fusion import PlanPlace
from nestwatch.nesting.join import JoinedDig, Seen, join_digs
from nestwatch.nesting.joined_call import NO_END, NO_START
from nestwatch.nesting.records import Call, Dig
from tests.report.scenes import a_dig

SHELL_M = 0.16


def place(x: float, y: float, sigma: float = 0.03) -> PlanPlace:
    return PlanPlace(np.array([x, y]), np.eye(2) * sigma**2 / 2, np.eye(2) * sigma**2 / 2)


def seen(
    camera: str,
    x: float | None,
    start: str = "21:00",
    end: str = "22:40",
    *,
    pen: str | None = "sand pen",
    sigma: float = 0.03,
    later_s: float = 0.0,
    **dig: object,
) -> Seen:
    """A dig at (x, 1) metres; x None: no marks. `later_s`: how far this camera's clock is ahead."""
    made = a_dig(start, end, camera=camera)
    shift = timedelta(seconds=later_s)
    made = replace(made, start=made.start + shift, end=made.end + shift, stages=(), **dig)  # type: ignore[arg-type]
    at = None if x is None else place(x, 1.0, sigma)
    return Seen(made, pen, at, at, SHELL_M)


def cameras(joined: list[JoinedDig]) -> list[set[str]]:
    return [{view.dig.camera for view in each.views} for each in joined]


def test_one_animal_in_two_cameras_is_one_dig_with_the_larger_view() -> None:
    small = seen("east", 1.04, "21:01", "22:41", shell_length_px=14.0, chamber=(1.0, 1.0))
    large = seen("west", 1.00, shell_length_px=31.0, chamber=(9.0, 9.0))
    (one,) = join_digs([small, large])
    assert [view.dig.camera for view in one.views] == ["west", "east"]
    assert (one.dig.camera, one.dig.chamber) == ("west", (9.0, 9.0))
    assert one.chamber is not None
    np.testing.assert_allclose(one.chamber.at, [1.02, 1.0], atol=0.002)


def test_a_view_without_pictures_is_not_the_best() -> None:
    large = replace(seen("west", 1.0, shell_length_px=31.0), pictured=False)
    (one,) = join_digs([large, seen("east", 1.0, shell_length_px=14.0)])
    assert one.dig.camera == "east"


def test_two_females_side_by_side_stay_two_in_both_cameras() -> None:
    """Places doubtful enough that every pairing passes the gate: the nearest go together."""
    first = [seen("west", 1.00, sigma=0.08), seen("west", 1.16, sigma=0.08)]
    second = [seen("east", 1.14, sigma=0.08), seen("east", 0.98, sigma=0.08)]
    joined = join_digs([*first, *second])
    assert cameras(joined) == [{"west", "east"}] * 2
    for each in joined:
        one, other = each.views
        assert one.body is not None
        assert other.body is not None
        assert abs(one.body.at[0] - other.body.at[0]) < 0.05


def test_two_females_each_hidden_from_one_camera_are_not_made_one() -> None:
    """A body length apart, same hours: one would vanish. Both stay, and each says that the other is near."""
    joined = join_digs([seen("west", 1.0, sigma=0.08), seen("east", 1.0 + SHELL_M, sigma=0.08)])
    assert cameras(joined) == [{"west"}, {"east"}]
    assert [any("16 cm away at the same time" in r for r in each.dig.reasons) for each in joined] == [
        True
    ] * 2


def test_two_digs_of_one_camera_are_never_one() -> None:
    joined = join_digs([seen("west", 1.0), seen("west", 1.01), seen("east", 1.0)])
    assert sorted(len(each.views) for each in joined) == [1, 2]


def test_one_place_at_other_times_is_another_dig() -> None:
    assert len(join_digs([seen("west", 1.0), seen("east", 1.0, "23:00", "00:40")])) == 2


@pytest.mark.parametrize("pen", ["other pen", None])
def test_cameras_of_other_pens_or_of_none_are_not_joined(pen: str | None) -> None:
    assert len(join_digs([seen("west", 1.0), seen("east", 1.0, pen=pen)])) == 2


@pytest.mark.parametrize("later_s", [-600.0, 300.0, 1200.0])
def test_clocks_minutes_apart_do_not_hinder(later_s: float) -> None:
    (one,) = join_digs([seen("west", 1.0), seen("east", 1.02, later_s=later_s)])
    assert len(one.views) == 2


def test_known_clocks_are_put_right_in_what_another_camera_tells() -> None:
    """West is the better view but missed the end; east saw it, by a clock 300 s ahead of west's."""
    west = seen("west", 1.0, shell_length_px=30.0, end_seen=False)
    east = seen("east", 1.0, "21:00", "22:50", later_s=300.0, shell_length_px=10.0)
    (one,) = join_digs([west, east], {"west": -150.0, "east": 150.0})
    assert one.dig.end == a_dig("21:00", "22:50").end
    assert one.dig.end_seen


def test_the_assignment_is_the_cheapest_of_all() -> None:
    """Against trying every one-to-one assignment of four digs to four, digs that go alone included."""
    rng = np.random.default_rng(7)
    for _ in range(20):
        xs, ys = rng.uniform(0, 0.6, 4), rng.uniform(0, 0.6, 4)
        west = [seen("west", float(x), sigma=0.06) for x in xs]
        east = [seen("east", float(y), sigma=0.06) for y in ys]
        cost = np.array([[min(join._cost(a, b, {}), join._ALONE) for b in east] for a in west])
        cheapest = min(sum(cost[i, j] for i, j in enumerate(order)) for order in permutations(range(4)))
        pairs = [each.views for each in join_digs([*west, *east]) if len(each.views) == 2]
        total = sum(join._cost(*views, {}) for views in pairs) + join._ALONE * (4 - len(pairs))
        assert total == pytest.approx(cheapest)


def one_of(*views: tuple[str, Call, float, float], **dig: object) -> Dig:
    """The joined dig of views (camera, call, likelihood, shell in pixels)."""
    (joined,) = join_digs(
        [
            seen(camera, 1.0, call=call, likelihood=share, shell_length_px=size, **dig)  # type: ignore[arg-type]
            for camera, call, share, size in views
        ]
    )
    return joined.dig


def test_a_nest_is_not_lost_by_a_camera_that_saw_it_badly() -> None:
    dig = one_of(("west", "rest", 0.03, 30.0), ("east", "nest", 0.9, 12.0))
    assert (dig.call, dig.likelihood, dig.camera) == ("nest", 0.9, "west")
    assert 'camera "west" alone would call it rest (eggs 3 %)' in dig.reasons


def test_a_view_that_missed_the_end_gives_way_to_one_that_saw_it_all() -> None:
    whole = seen("west", 1.0, call="trial", likelihood=0.2, shell_length_px=30.0)
    cut = seen("east", 1.0, call="unclear", likelihood=0.5, shell_length_px=12.0, end_seen=False)
    (one,) = join_digs([whole, cut])
    assert one.dig.call == "trial"
    assert 'camera "east" alone would call it unclear (eggs 50 %)' in one.dig.reasons


def test_reasons_are_told_once_and_settled_doubts_not_at_all() -> None:
    west = seen("west", 1.0, reasons=("stayed 1 h 40 min on one spot", NO_END), end_seen=False)
    east = seen(
        "east", 1.0, reasons=("stayed 1 h 38 min on one spot", "ground differs afterwards", NO_START),
        start_seen=False, shell_length_px=5.0,
    )  # fmt: skip
    (one,) = join_digs([west, east])
    assert one.dig.reasons == ("stayed 1 h 40 min on one spot", 'camera "east": ground differs afterwards')


def test_without_marks_a_lone_companion_in_time_is_only_told() -> None:
    joined = join_digs([seen("west", 1.0), seen("east", None, "21:03", "22:38")])
    assert cameras(joined) == [{"west"}, {"east"}]
    told = [each.dig.reasons[-1] for each in joined]
    assert told[0].startswith('camera "east" shows an animal at the same time; without marks on "east"')
    assert told[1].startswith('camera "west" shows an animal at the same time; without marks on "east"')


def test_without_marks_two_companions_tell_nothing() -> None:
    joined = join_digs([seen("west", 1.0), seen("west", 2.0), seen("east", None, "21:03", "22:38")])
    assert not any("at the same time" in reason for each in joined for reason in each.dig.reasons)


def test_three_cameras_come_to_one() -> None:
    (one,) = join_digs([seen(name, 1.0 + k / 100) for k, name in enumerate(("west", "east", "north"))])
    assert len(one.views) == 3


def test_a_lone_camera_is_left_as_it_is() -> None:
    alone = seen("west", 1.0)
    (one,) = join_digs([alone])
    assert one.dig is alone.dig
