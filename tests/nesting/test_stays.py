"""Stays of one animal joined into one: over pieces, a change of light, a gap; never two animals into one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nestwatch.ground.epochs import Epochs
from nestwatch.ground.records import Bins, Box, Grid
from nestwatch.nesting.stays import Stay, bridge, join, over_pauses, stays_of_boxes, wide, with_stirs
from tests.ground.half_minutes import START, half_minutes

SHELL = 18.0
NAN = float("nan")


def bins(count: int = 800, *, lost: tuple[int, int] = (0, 0)) -> Bins:
    """Half minutes without pictures in them, those of `lost` left out."""
    steps = np.array([i for i in range(count) if not lost[0] <= i < lost[1]])
    return half_minutes(steps, Grid(0, 0, 8, 8, (1.0, 1.0), SHELL))


def stay(first: int, last: int, *, row: float = 50.0, column: float = 60.0, seen: str = "both") -> Stay:
    """`seen`: which of its edges were seen ("both", "start", "end", "none")."""
    start, end = seen in {"both", "start"}, seen in {"both", "end"}
    return Stay(row, column, first, last, 0.6, NAN, start, end, 10.0, NAN, 5)


def spans(stays: list[Stay]) -> list[tuple[int, int]]:
    return sorted((one.first, one.last) for one in stays)


def test_pieces_of_one_stay_become_one_from_first_to_last() -> None:
    pieces = [stay(100, 300), stay(250, 340, row=56.0), stay(95, 200, column=66.0)]
    assert spans(join(pieces, bins())) == [(95, 340)]


def test_two_animals_at_once_stay_two() -> None:
    assert spans(join([stay(100, 300), stay(100, 300, column=60 + 1.5 * SHELL)], bins())) == [
        (100, 300),
        (100, 300),
    ]


def test_one_after_the_other_at_the_same_place_stay_two() -> None:
    assert spans(join([stay(100, 200), stay(210, 300)], bins())) == [(100, 200), (210, 300)]


def test_the_edges_of_a_short_clear_stay_hold_over_a_long_faint_one_only_where_it_shows_far_more() -> None:
    """Passing by before she stays changes a few tiles; a leg of a spider beside her must not cut her."""
    short = replace(stay(100, 116), tiles=6)
    assert spans(join([replace(stay(100, 270), tiles=5), short], bins())) == [(100, 270)]
    assert spans(join([replace(stay(100, 270), tiles=2), short], bins())) == [(100, 116)]


@given(st.permutations([stay(100, 300), stay(250, 340), stay(95, 200), stay(400, 500), stay(480, 520)]))
def test_the_order_of_pieces_does_not_matter(pieces: list[Stay]) -> None:
    assert spans(join(pieces, bins())) == [(95, 340), (400, 520)]


def test_a_stay_goes_on_over_the_change_to_infrared() -> None:
    """Its end was not seen by day, its beginning not in infrared: the animal was there at the switch."""
    found = bridge([stay(100, 200, seen="start"), stay(204, 400, seen="end", row=55.0)], bins())
    assert spans(found) == [(100, 400)]
    assert (found[0].start_seen, found[0].end_seen) == (True, True)


def test_a_stay_goes_on_over_a_gap_in_the_recording() -> None:
    """Twenty minutes are missing in the middle: bins of them do not exist."""
    night = bins(lost=(200, 240))
    assert spans(bridge([stay(100, 200, seen="start"), stay(200, 360, seen="end")], night)) == [(100, 360)]


@pytest.mark.parametrize(
    ("second", "lost"),
    [
        pytest.param(stay(200, 360, seen="end"), (200, 320), id="an hour's gap"),
        pytest.param(stay(204, 360, seen="end", column=100.0), (0, 0), id="another place"),
        pytest.param(stay(290, 360, seen="end"), (0, 0), id="three quarters of an hour later"),
    ],
)
def test_what_may_be_another_animal_is_not_bridged(second: Stay, lost: tuple[int, int]) -> None:
    assert len(bridge([stay(100, 200, seen="start"), second], bins(lost=lost))) == 2


def test_an_animal_seen_leaving_and_one_seen_coming_are_two() -> None:
    assert len(bridge([stay(100, 200), stay(204, 360)], bins())) == 2


def test_an_animal_seen_leaving_is_not_the_one_that_sits_there_when_the_light_changes() -> None:
    """It went half an hour before the switch to infrared."""
    assert len(bridge([stay(100, 200), stay(260, 400, seen="end")], bins())) == 2
    assert len(bridge([stay(100, 200, seen="start"), stay(260, 400)], bins())) == 2


def test_an_edge_seen_a_few_minutes_beside_the_change_of_light_is_forgiven() -> None:
    assert spans(bridge([stay(100, 200), stay(206, 400, seen="end")], bins())) == [(100, 400)]


def test_of_a_stay_within_a_longer_fainter_one_the_clearer_has_the_edges() -> None:
    """A few tiles changed already when she first passed by."""
    passed = replace(stay(100, 300), looks=0.3, tiles=3)
    assert spans(join([passed, replace(stay(160, 300), tiles=12)], bins())) == [(160, 300)]
    assert spans(join([replace(passed, tiles=20), stay(160, 300)], bins())) == [(100, 300)]


def stirred(first: int, last: int, *, column: float = 60.0) -> Stay:
    return replace(stay(first, last, column=column), looks=NAN, stirs=0.9, tiles=0)


def test_the_look_decides_the_edges_where_stirring_lies_on_it() -> None:
    found = with_stirs([stay(100, 300)], [stirred(95, 280)], bins())
    assert spans(found) == [(100, 300)]
    assert found[0].stirs == pytest.approx(0.9)


@pytest.mark.parametrize(("looks", "span"), [(0.2, (100, 300)), (0.6, (180, 240))])
def test_long_stirring_outside_the_look_widens_a_faint_stay_only(looks: float, span: tuple[int, int]) -> None:
    """A shell that can hardly be told from the soil shows only now and then."""
    seen = replace(stay(180, 240), looks=looks)
    assert spans(with_stirs([seen], [stirred(100, 300)], bins())) == [span]


@pytest.mark.parametrize(("extent", "span", "within"), [(10.0, (90, 420), False), (90.0, (100, 300), True)])
def test_an_animal_in_a_shadow_stays_as_long_as_it_stirs(
    extent: float, span: tuple[int, int], within: bool
) -> None:
    """Moon shadows lie on a spot for longer than she does, over much more than her own size."""
    seen = replace(stay(90, 420), extent=extent)
    found = with_stirs([seen], [stirred(100, 300)], bins())
    assert spans(found) == [span]
    assert [one.within for one in found] == [within]


def test_stirring_elsewhere_is_a_stay_of_its_own() -> None:
    assert len(with_stirs([stay(100, 300)], [stirred(100, 300, column=120.0)], bins())) == 2


@pytest.mark.parametrize(("pause", "count"), [(26, 1), (60, 1), (90, 2)])
def test_stirring_is_one_over_the_quiet_of_laying(pause: int, count: int) -> None:
    """Thirteen and thirty minutes of quiet between digging and covering; not three quarters of an hour."""
    assert len(over_pauses([stirred(100, 232), stirred(232 + pause, 300 + pause)], bins())) == count


def _tile(row: float, column: float, first: int, last: int, score: float) -> Box:
    return Box(row, column, first, last, score, score, 0.0, score)


def test_a_female_under_a_web_that_hung_there_nearly_as_long_is_a_stay_of_her_own() -> None:
    """The threads cross the picture for 126 minutes, she lies among them for 96: three quarters in common,
    but she came and went at times of her own."""
    threads = [_tile(50.0 + 3 * (k % 2), 9.0 * k, 20, 83, 1.0) for k in range(40)]
    female = [_tile(50.0 + 8 * i, 150.0 + 8 * k, 22, 70, 0.8) for i in range(1, 4) for k in range(3)]
    night = bins()
    times, picture = START + 120.0 * np.arange(200, dtype=np.float64), np.zeros((200, 1, 1), np.float32)
    epochs = Epochs(times, 120.0, np.ones(200, np.bool_), picture, picture, 9, 1.0)
    stays = stays_of_boxes([*threads, *female], epochs, night)
    compact = [one for one in stays if not wide(one, SHELL)]
    assert spans(compact) == [(88, 280)]
    assert compact[0].column == pytest.approx(158.0, abs=4.0)
    assert (80, 332) in spans(stays)


def test_a_female_beside_whom_a_strand_comes_and_stays_after_her_is_a_stay_of_her_own() -> None:
    """On her own tiles it is one long stay, from her coming to the strand's going; a part of it is hers."""
    threads = [_tile(50.0 + 3 * (k % 2), 9.0 * k, 25, 90, 1.0) for k in range(40)]
    places = [(50.0 + 8 * i, 150.0 + 8 * k) for i in range(1, 4) for k in range(3)]
    female = [replace(_tile(*place, 20, 90, 0.7), part=_tile(*place, 20, 70, 0.5)) for place in places]
    night = bins()
    times, picture = START + 120.0 * np.arange(200, dtype=np.float64), np.zeros((200, 1, 1), np.float32)
    epochs = Epochs(times, 120.0, np.ones(200, np.bool_), picture, picture, 9, 1.0)
    compact = [s for s in stays_of_boxes([*threads, *female], epochs, night) if not wide(s, SHELL)]
    assert spans(compact) == [(80, 280)]
    alone = stays_of_boxes(female, epochs, night)
    assert spans(alone) == [(80, 360)], "nothing larger hangs there: her tiles tell her time"


def test_a_plant_that_stirs_all_night_over_a_faint_animal_does_not_make_her_stay_all_night() -> None:
    faint = replace(stay(160, 350), looks=0.25)
    plant = replace(stirred(0, 800), start_seen=False, end_seen=False)
    joined = with_stirs([faint], [plant], bins())
    assert spans(joined) == [(160, 350)]
    assert joined[0].leaves


def test_stirring_that_goes_on_long_before_and_after_her_is_leaves_and_her_own_is_not() -> None:
    animal = stay(160, 350)
    assert with_stirs([animal], [stirred(120, 420)], bins())[0].leaves
    assert with_stirs([animal], [stirred(108, 364)], bins())[0].leaves, "7 minutes after, but 26 before"
    assert not with_stirs([animal], [stirred(150, 352)], bins())[0].leaves
    assert not with_stirs([animal], [stirred(100, 352)], bins())[0].leaves, "half an hour of walking up"
