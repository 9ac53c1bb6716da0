"""Which of two looks of a spot is the animal and which the ground, told over a change of light."""

from __future__ import annotations

import numpy as np
import pytest

from nestwatch.ground.records import Bins, Grid
from nestwatch.nesting import animals
from nestwatch.nesting.animals import animals_of_night
from nestwatch.nesting.stays import Stay
from tests.ground.half_minutes import half_minutes

NAN = float("nan")
SWITCH, END = 144, 420
SURE = 1.1


def bins(*, pause: int = 0) -> Bins:
    """A night in two lights, the second `pause` half minutes after the first."""
    steps = np.concatenate([np.arange(SWITCH), np.arange(SWITCH, END) + pause])
    spell = np.repeat(np.array([0, 1], np.int16), (SWITCH, END - SWITCH))
    return half_minutes(steps, Grid(0, 0, 8, 8, (1.0, 1.0), 18.0), spell=spell)


def stay(first: int, last: int, *, row: float = 50.0, tiles: int = 6, looks: float = 1.0) -> Stay:
    """One whose edges were seen but for those at the ends of its light."""
    start, end = first not in (0, SWITCH), last not in (SWITCH, END)
    return Stay(row, 60.0, first, last, looks, NAN, start, end, 10.0, NAN, tiles)


GROUND, CAME = stay(0, 72, tiles=12), stay(40, SWITCH)
INFRARED = stay(SWITCH, 264, tiles=27)


@pytest.fixture(autouse=True)
def _outlines(monkeypatch: pytest.MonkeyPatch) -> None:
    """By day the outline speaks a little against the animal, in infrared clearly for it: as measured on an
    invented night whose female dug through the change."""

    def outline(_: Bins, __: tuple[float, float], inside: tuple[int, int], ___: tuple[int, int]) -> float:
        return SURE if inside[0] >= SWITCH else -0.3

    monkeypatch.setattr(animals, "stands_out", outline)


def spans(found: list[Stay]) -> list[tuple[int, int]]:
    return sorted((one.first, one.last) for one in found)


def test_by_day_alone_the_ground_before_her_is_taken_for_the_animal() -> None:
    """What the infrared has to put right."""
    assert spans(animals_of_night([[GROUND, CAME], []], bins())) == [(0, 40)]


def test_who_lies_there_in_infrared_lay_there_just_before_the_change() -> None:
    """Of two edges by day that both fit, the one where more of the ground changed."""
    assert spans(animals_of_night([[GROUND, CAME], [INFRARED]], bins())) == [(72, SWITCH), (SWITCH, 264)]
    assert spans(animals_of_night([[CAME], [INFRARED]], bins())) == [(40, SWITCH), (SWITCH, 264)]


@pytest.mark.parametrize(
    ("later", "pause"),
    [
        pytest.param(stay(SWITCH, 264, tiles=27, row=120.0), 0, id="another place"),
        pytest.param(stay(SWITCH + 40, 264, tiles=27), 0, id="came after the change"),
        pytest.param(INFRARED, 60, id="half an hour lies between"),
        pytest.param(stay(SWITCH, 264, tiles=27, looks=0.3), 0, id="faint"),
    ],
)
def test_what_was_not_there_at_the_change_says_nothing(later: Stay, pause: int) -> None:
    assert (0, 40) in spans(animals_of_night([[GROUND, CAME], [later]], bins(pause=pause)))


def test_ground_that_a_raider_changed_is_no_stay_from_the_beginning_of_the_recording_on() -> None:
    """As on an invented night: three faint tiles beside the raider's 33, until it left."""
    night, raider = bins(), stay(200, 224, tiles=33, looks=1.3)
    scar = stay(SWITCH, 225, row=50.0 + 2.0 * 18.0, tiles=3, looks=0.36)
    assert spans(animals_of_night([[], [scar, raider]], night)) == [(200, 224)]
    clear = stay(SWITCH, 225, row=scar.row, tiles=16)
    assert (SWITCH, 225) in spans(animals_of_night([[], [clear, raider]], night))
    earlier = stay(SWITCH, 180, row=scar.row, tiles=3, looks=0.36)
    assert (SWITCH, 180) in spans(animals_of_night([[], [earlier, raider]], night))
