"""Calls on animals that do not dig, on raids, and times that nobody recorded: worked out on paper."""

from __future__ import annotations

import pytest

from nestwatch.synthetic.scoring import score_night
from tests.scoring.test_scoring import NEST, Json, clock, entry, event, night, truth

FOLLOWER = event("follow", "20:05", "22:40", (120, 100))
TOAD = event("sit", "21:00", "23:00", (300, 300))
RAID = event("raid", "03:00", "03:15", (101, 100), "dig 03:00 03:15")
FOUND_NEST = entry(1, "nest", "20:02", "22:58", (101, 101))


@pytest.mark.parametrize(
    ("call", "false_nests", "false_alarms"),
    [("rest", 0, 0), ("unclear", 0, 0), ("trial", 0, 1), ("nest", 1, 1)],
)
@pytest.mark.parametrize("animal", [TOAD, event("follow", "21:00", "23:00", (300, 300))])
def test_an_animal_that_sits_or_follows(animal: Json, call: str, false_nests: int, false_alarms: int) -> None:
    score = score_night(truth(animal), night(entry(1, call, "21:05", "22:55", (302, 300))))
    assert (score.false_nests, score.false_alarms) == (false_nests, false_alarms)


def test_the_same_call_without_an_animal_is_an_alarm() -> None:
    score = score_night(truth(), night(entry(1, "unclear", "21:05", "22:55", (302, 300))))
    assert score.false_alarms == 1


@pytest.mark.parametrize("call", ["nest", "trial", "unclear", "rest"])
def test_a_raid_is_no_false_dig(call: str) -> None:
    second = entry(2, call, "03:01", "03:14", (103, 100))
    score = score_night(truth(NEST, RAID), night(FOUND_NEST, second))
    assert (score.false_nests, score.false_alarms) == (0, 0)
    assert [one.kind for one in score.events if one.call == call][-1] == "raid"


def test_a_nest_call_on_the_follower_does_not_hide_a_missed_nest() -> None:
    # One entry, at the nest's place: it is the nest's though the follower is a shell length away as long.
    (score,) = score_night(truth(NEST, FOLLOWER), night(FOUND_NEST)).of("nest")
    assert score.call == "nest"
    assert score_night(truth(NEST, FOLLOWER), night(FOUND_NEST)).false_nests == 0


def test_the_follower_gets_the_second_entry() -> None:
    beside = entry(2, "unclear", "20:05", "22:40", (121, 100))
    score = score_night(truth(NEST, FOLLOWER), night(FOUND_NEST, beside))
    assert [(one.kind, one.call) for one in score.events] == [("nest", "nest"), ("follow", "unclear")]
    assert score.false_alarms == 0


def test_two_nests_at_the_same_time_are_told_by_place() -> None:
    other = event("nest", "20:00", "23:00", (125, 100))
    found = entry(1, "nest", "20:00", "23:00", (124, 100)), entry(2, "nest", "20:00", "23:00", (99, 100))
    score = score_night(truth(NEST, other), night(*found))
    assert sorted(one.chamber_shells or 0.0 for one in score.events) == pytest.approx([0.05, 0.05])


def test_times_that_were_not_recorded_are_not_scored() -> None:
    told = {**truth(NEST), "gaps": [{"from": clock("19:00"), "to": clock("20:30")}]}
    ours = entry(1, "nest", "20:30", "22:50", (100, 100), "dig 20:30 21:41", "lay 21:41 22:01")
    (score,) = score_night(told, night(ours)).events
    assert (score.start_s, score.end_s) == (None, -600)
    assert score.boundaries_s is not None
    assert (score.boundaries_s["dig start"], score.boundaries_s["lay start"]) == (None, 60)


def test_a_stay_cut_by_the_end_of_the_night_counts_where_it_was_seen() -> None:
    # Seen from 20:00 to 21:00, called so: within the collar, though the stay lasted until 23:00.
    told = {**truth(NEST), "from": clock("19:00"), "to": clock("21:00")}
    score = score_night(told, night(entry(1, "nest", "20:00", "21:00", (100, 100))))
    assert score.nest_times.matched == 1
    assert score.events[0].end_s is None


def test_a_nest_call_on_a_night_without_digging_is_false() -> None:
    resting = event("rest", "20:00", "23:00", (100, 100))
    assert score_night(truth(resting), night(FOUND_NEST)).false_nests == 1
    assert score_night(truth(), night(FOUND_NEST)).false_nests == 1
