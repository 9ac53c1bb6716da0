"""Half-minute pictures in, digs out: invented scenes with known truth, without any look at full rate."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from nestwatch.ground.collect import Collector
from nestwatch.ground.records import Bins, Grid
from nestwatch.nesting.digs import find_digs
from nestwatch.nesting.look import Context
from nestwatch.nesting.records import Dig
from tests.ground.scenes import COLUMNS, ROWS, SHELL, START, Guest, bins_of, frames

NIGHT_MIN = 240.0
NEST = Guest(120, 80, 30, first=60, last=180, works=((64, 120), (140, 175)), scar=True)
PACKED = Guest(120, 80, 30, first=60, last=180, works=((64, 120), (140, 175)))
SECOND = Guest(180, 110, 200, first=80, last=200, works=((84, 140), (160, 195)), scar=True)
TRIAL = Guest(120, 80, 30, first=60, last=130, works=((64, 128),))
RESTING = Guest(60, 110, 300, first=40, last=150, contrast=-45)


def context(*, nesting: tuple[float, float] = (0.0, NIGHT_MIN)) -> Context:
    """The whole picture is a nesting zone; nesting hours in minutes of the night."""
    low, high = (START + 60 * minute for minute in nesting)
    return Context("bank", np.ones((ROWS, COLUMNS), np.bool_), lambda _: "sand", (low, high))


def digs_of(bins: Bins, **hours: tuple[float, float]) -> list[Dig]:
    return find_digs(bins, context(**hours), lambda *_: None)


def minutes(at: datetime) -> float:
    return (at.timestamp() - START) / 60


def near(dig: Dig, guest: Guest) -> bool:
    """The body within half a shell of where the guest lay; pictures are twice as large as skim frames."""
    return math.dist(dig.body, (2 * guest.x, 2 * guest.y)) < SHELL


@pytest.mark.parametrize(("guest", "call"), [(NEST, "nest"), (PACKED, "nest"), (TRIAL, "trial")])
def test_a_dig_is_found_called_and_timed(guest: Guest, call: str) -> None:
    """Packed soil shows nothing afterwards: limbs alone carry the nest."""
    (dig,) = digs_of(bins_of([guest], minutes=NIGHT_MIN, seed=1))
    assert dig.call == call
    assert near(dig, guest)
    assert minutes(dig.start) == pytest.approx(guest.first, abs=2)
    assert minutes(dig.end) == pytest.approx(guest.last, abs=2)
    assert (dig.start_seen, dig.end_seen) == (True, True)
    x, y = guest.rear()
    assert math.dist(dig.chamber, (2 * x, 2 * y)) <= dig.chamber_radius_px


def test_resting_is_set_aside_and_an_empty_night_is_empty() -> None:
    (rest,) = digs_of(bins_of([RESTING], minutes=NIGHT_MIN, seed=2))
    assert rest.call == "rest"
    assert near(rest, RESTING)
    assert digs_of(bins_of([], minutes=NIGHT_MIN, seed=3)) == []


def test_two_females_and_one_at_rest_are_told_apart() -> None:
    digs = digs_of(bins_of([PACKED, SECOND, RESTING], minutes=NIGHT_MIN, seed=4))
    calls = {guest: [dig.call for dig in digs if near(dig, guest)] for guest in (PACKED, SECOND, RESTING)}
    assert calls == {PACKED: ["nest"], SECOND: ["nest"], RESTING: ["rest"]}


def test_a_female_and_one_at_rest_beside_her_for_the_same_time_are_told_apart() -> None:
    """Come and gone in the same minutes, 3.7 shells apart."""
    beside = replace(RESTING, first=PACKED.first, last=PACKED.last)
    digs = digs_of(bins_of([PACKED, beside], minutes=NIGHT_MIN, seed=4))
    assert [dig.call for dig in digs if near(dig, PACKED)] == ["nest"]


def test_a_dig_outside_nesting_hours_is_listed_all_the_same() -> None:
    """Nesting hours are over before she comes."""
    (dig,) = digs_of(bins_of([NEST], minutes=NIGHT_MIN, seed=1), nesting=(0.0, 50.0))
    assert dig.call == "nest"
    assert not dig.in_nesting_hours
    assert "outside nesting hours" in dig.reasons


def recorded(guest: Guest, *spans: tuple[float, float]) -> Bins:
    """The night of a guest of which only those minutes were recorded."""
    grid = Grid(0, 0, ROWS, COLUMNS, (2.0, 2.0), SHELL)
    collector = Collector(grid, start=START, hours=NIGHT_MIN / 60)
    for frame in frames([guest], minutes=NIGHT_MIN, seed=5):
        if any(first <= (frame.at - START) / 60 < last for first, last in spans):
            collector.add(frame)
    return collector.finish()


def test_a_gap_in_the_middle_does_not_make_two_of_one() -> None:
    """Twelve minutes of digging are lost."""
    (dig,) = digs_of(recorded(NEST, (0, 85), (97, NIGHT_MIN)))
    assert dig.call == "nest"
    assert minutes(dig.start) == pytest.approx(NEST.first, abs=2)
    assert minutes(dig.end) == pytest.approx(NEST.last, abs=2)
    assert any("of it was not recorded" in reason for reason in dig.reasons)


@pytest.mark.parametrize("span", [(0.0, 130.0), (100.0, NIGHT_MIN)])
def test_a_dig_recorded_in_part_is_never_called_trial_or_rest(span: tuple[float, float]) -> None:
    """The recording ends while she lays, or begins while she digs."""
    (dig,) = digs_of(recorded(NEST, span))
    assert dig.call in {"nest", "unclear"}
    assert near(dig, NEST)


def test_times_are_utc_and_within_the_night() -> None:
    (dig,) = digs_of(bins_of([NEST], minutes=NIGHT_MIN, seed=1))
    for at in (dig.start, dig.end, dig.before_at, dig.during_at, dig.after_at):
        assert at is not None
        assert at.tzinfo is UTC
        assert 0 <= minutes(at) <= NIGHT_MIN
    assert dig.before_at is not None
    assert dig.after_at is not None
    assert dig.before_at < dig.start <= dig.during_at < dig.end <= dig.after_at
