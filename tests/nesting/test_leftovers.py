"""What is left of a clear stay beside it, and what rain or wind stirs everywhere, is no animal of its own."""

from __future__ import annotations

from dataclasses import replace

from nestwatch.nesting.leftovers import without_crumbs, without_middle, without_weather, without_wind
from tests.nesting.test_stays import NAN, SHELL, bins, spans, stay, stirred

CLEAR = replace(stay(100, 300), looks=1.0, tiles=25)


def test_thrown_soil_beside_a_digging_animal_is_part_of_it() -> None:
    soil = replace(stay(180, 300, column=60 + 1.4 * SHELL, seen="start"), looks=0.3, tiles=3)
    assert without_crumbs([CLEAR, soil], bins()) == [CLEAR]


def test_stirring_a_shell_and_a_half_away_is_part_of_it() -> None:
    assert without_crumbs([CLEAR, stirred(120, 280, column=60 + 1.5 * SHELL)], bins()) == [CLEAR]


def test_another_animal_beside_is_kept() -> None:
    """Two nests a body length apart: both are as clear."""
    other = replace(CLEAR, column=60 + 1.4 * SHELL)
    assert len(without_crumbs([CLEAR, other], bins())) == 2


def test_a_faint_animal_beside_that_stays_longer_and_came_later_is_kept() -> None:
    """As on an invented night: four tiles against 25, 24 minutes after her coming to 6 after she left."""
    second = replace(stay(148, 312, column=60 + 2.0 * SHELL), looks=0.37, tiles=4)
    assert without_crumbs([CLEAR, second], bins()) == [CLEAR, second]
    for part in (replace(second, last=300), replace(second, first=100), replace(second, tiles=3)):
        assert without_crumbs([CLEAR, part], bins()) == [CLEAR]
    thrown = replace(second, end_seen=False)
    assert without_crumbs([CLEAR, thrown], bins()) == [CLEAR]


def test_what_goes_on_after_she_left_is_kept() -> None:
    assert len(without_crumbs([CLEAR, stirred(250, 500)], bins())) == 2


def test_spots_that_stir_all_together_are_rain() -> None:
    rain = [stirred(100 + i, 340 - i, column=60 + 6 * SHELL * i) for i in range(6)]
    assert spans(without_weather([CLEAR, *rain], bins())) == [(100, 300)]


def test_two_hidden_diggers_are_no_weather() -> None:
    two = [stirred(100, 300), stirred(120, 340, column=60 + 8 * SHELL)]
    assert len(without_weather(two, bins())) == 2


def test_an_animal_seen_in_the_rain_is_kept() -> None:
    rain = [stirred(100, 340, column=60 + 6 * SHELL * i) for i in range(1, 6)]
    seen = replace(CLEAR, stirs=0.8, ground=NAN)
    assert without_weather([seen, *rain], bins()) == [seen]


def test_the_ground_between_two_females_side_by_side_is_neither() -> None:
    """She on the left comes first, she on the right leaves last; the tiles between them see both."""
    early, late = stay(80, 276), replace(stay(176, 340), column=60 + 1.6 * SHELL)
    middle = replace(stay(80, 340), column=60 + 0.8 * SHELL, tiles=4)
    assert spans(without_middle([middle, early, late], bins())) == [(80, 276), (176, 340)]


def test_one_long_stay_beside_two_short_ones_is_kept() -> None:
    """One of them came while the first was long gone: then something lay there in between."""
    early, late = stay(80, 150), replace(stay(200, 340), column=60 + 1.6 * SHELL)
    middle = replace(stay(80, 340), column=60 + 0.8 * SHELL, tiles=4)
    assert len(without_middle([middle, early, late], bins())) == 3


def test_leaves_all_over_the_pen_begin_and_end_with_the_wind() -> None:
    leaves = [replace(stay(60 + i, 400 - i), column=60 + 8 * SHELL * i) for i in range(1, 4)]
    assert without_wind([CLEAR, *leaves], bins()) == [CLEAR]


def test_two_females_that_come_and_go_together_are_no_wind() -> None:
    other = replace(CLEAR, column=60 + 8 * SHELL)
    assert len(without_wind([CLEAR, other], bins())) == 2
