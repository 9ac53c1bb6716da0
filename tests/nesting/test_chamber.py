"""The chamber lies under the rear edge of the shell: geometry, the heading, and what is said when unclear."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nestwatch.nesting.chamber import Clue, find_chamber

SHELL = 18.0
CENTRE = (50.0, 80.0)
turns = st.floats(0, 2 * math.pi)


def rear(turn: float, reach: float = SHELL / 2) -> tuple[float, float]:
    """(row, column) `reach` behind the centre of an animal whose rear points along `turn`."""
    return CENTRE[0] + reach * math.sin(turn), CENTRE[1] + reach * math.cos(turn)


@given(turns, st.booleans())
def test_the_chamber_is_the_rear_end_of_the_axis_whichever_way_the_axis_is_told(
    turn: float, turned: bool
) -> None:
    """An outline gives an axis but not which end of it is the head; limbs tell that."""
    axis = turn + math.pi * turned
    found = find_chamber(CENTRE, SHELL, axis=axis, clues=[Clue(*rear(turn), 1.0)], soil=None)
    assert (found.row, found.column) == pytest.approx(rear(turn), abs=1e-6)
    assert found.radius < 0.5 * SHELL


@given(turns, st.floats(-0.6, 0.6))
def test_limbs_beside_the_axis_do_not_turn_it(turn: float, aside: float) -> None:
    """Hind feet work in turn, now on one side, now on the other."""
    limb = rear(turn + aside, 0.4 * SHELL)
    found = find_chamber(CENTRE, SHELL, axis=turn, clues=[Clue(*limb, 1.0)], soil=None)
    assert (found.row, found.column) == pytest.approx(rear(turn), abs=1e-6)


@given(turns)
def test_without_an_outline_limbs_give_the_direction(turn: float) -> None:
    found = find_chamber(CENTRE, SHELL, axis=None, clues=[Clue(*rear(turn, 5.0), 0.7)], soil=None)
    assert (found.row, found.column) == pytest.approx(rear(turn), abs=1e-6)


@pytest.mark.parametrize("axis", [None, 0.7])
def test_without_a_clue_the_answer_is_the_centre_and_most_of_a_shell(axis: float | None) -> None:
    found = find_chamber(CENTRE, SHELL, axis=axis, clues=[], soil=None)
    assert (found.row, found.column) == CENTRE
    assert found.radius >= 0.5 * SHELL  # the rear edge is half a shell away, in whatever direction


def test_clues_that_contradict_each_other_are_no_heading() -> None:
    clues = [Clue(*rear(0.3), 1.0), Clue(*rear(0.3 + math.pi), 1.0)]
    found = find_chamber(CENTRE, SHELL, axis=0.3, clues=clues, soil=None)
    assert (found.row, found.column) == pytest.approx(CENTRE, abs=1e-6)
    assert found.radius >= 0.5 * SHELL


def test_changed_soil_pulls_the_answer_by_its_weight() -> None:
    soil = Clue(rear(0.0)[0] + 4.0, rear(0.0)[1], 0.5)
    found = find_chamber(CENTRE, SHELL, axis=0.0, clues=[Clue(*rear(0.0), 1.0)], soil=soil)
    assert (found.row, found.column) == pytest.approx((rear(0.0)[0] + 2.0, rear(0.0)[1]))


def test_rows_are_down_and_columns_are_right() -> None:
    """An animal whose rear points down the picture has its chamber in a higher row."""
    found = find_chamber(CENTRE, SHELL, axis=math.pi / 2, clues=[Clue(70.0, 80.0, 1.0)], soil=None)
    assert (found.row, found.column) == pytest.approx((59.0, 80.0))
