"""Scores of nights written by hand: every expected number below was worked out on paper."""

from __future__ import annotations

from typing import Any

import pytest

from nestwatch.synthetic.likely import likelihoods
from nestwatch.synthetic.matching import Counts
from nestwatch.synthetic.scoring import EventScore, Rate, rate, score_night, spread, summarise

Json = dict[str, Any]


def clock(text: str) -> str:
    """A time of the invented night: hours below noon belong to the morning after."""
    return f"2026-06-{12 if text >= '12:00' else 13}T{text}:00+02:00"


def stages(*parts: str) -> list[Json]:
    """`"dig 20:00 21:00"` as an entry of `stages`."""
    split = [part.split() for part in parts]
    return [{"stage": name, "from": clock(start), "to": clock(end)} for name, start, end in split]


def event(kind: str, start: str, end: str, place: tuple[float, float], *parts: str) -> Json:
    """A true event seen by one camera at 20 pixels a shell length, 100 pixels a metre."""
    seen = {"chamber_px": list(place), "body_px": [place[0] + 10, place[1]], "shell_px": 20.0}
    return {
        "kind": kind,
        "from": clock(start),
        "to": clock(end),
        "stages": stages(*parts),
        "chamber_m": [place[0] / 100, place[1] / 100],
        "per_camera": {"bank": seen},
    }


def entry(rank: int, call: str, start: str, end: str, place: tuple[float, float], *parts: str) -> Json:
    """An entry of a night file's digs."""
    return {
        "rank": rank,
        "camera": "bank",
        "call": call,
        "from": clock(start),
        "to": clock(end),
        "stages": stages(*parts),
        "pixel": list(place),
        "plan_m": [place[0] / 100, place[1] / 100],
        "within_m": 0.05,
    }


def truth(*events: Json) -> Json:
    return {"animals": [{"events": list(events)}]}


def night(*digs: Json) -> Json:
    return {"footage": [{"camera": "bank"}], "digs": list(digs)}


NEST = event("nest", "20:00", "23:00", (100, 100), "dig 20:10 21:40", "lay 21:40 22:00", "cover 22:00 23:00")
TRIAL = event("trial", "18:00", "18:40", (300, 100), "dig 18:05 18:40")
REST = event("rest", "23:30", "02:00", (200, 200))


def test_errors_of_a_matched_nest() -> None:
    ours = entry(
        1, "nest", "20:05", "22:50", (103, 104), "dig 20:05 21:30", "lay 21:30 22:04", "cover 22:04 22:50"
    )
    (score,) = score_night(truth(NEST), night(ours)).events
    assert (score.kind, score.call, score.rank) == ("nest", "nest", 1)
    assert (score.start_s, score.end_s) == (300, -600)
    assert score.boundaries_s == {
        "dig start": -300,
        "lay start": -600,
        "cover start": 240,
        "cover end": -600,
    }
    # 3 and 4 pixels aside are 5 pixels: a quarter of the 20-pixel shell, 5 cm at 100 pixels a metre.
    assert score.chamber_shells == pytest.approx(0.25)
    assert score.chamber_cm == pytest.approx(5.0)


@pytest.mark.parametrize(("place", "held"), [((102, 104), True), ((104, 104), False)])
def test_the_claimed_radius_is_checked(place: tuple[float, float], held: bool) -> None:
    # sqrt(20) = 4.47 cm lies within the claimed 5 cm, sqrt(32) = 5.66 cm does not.
    (score,) = score_night(truth(NEST), night(entry(1, "nest", "20:00", "23:00", place))).events
    assert score.held is held


def test_a_stage_dug_twice_runs_from_first_to_last() -> None:
    ours = entry(1, "nest", "20:00", "23:00", (100, 100), "dig 20:20 20:40", "dig 20:50 21:30")
    (score,) = score_night(truth(NEST), night(ours)).events
    assert score.boundaries_s is not None
    assert score.boundaries_s["dig start"] == 600
    assert score.boundaries_s["lay start"] is None


def test_the_gate_is_distance_in_shell_lengths() -> None:
    at_gate = score_night(truth(NEST), night(entry(1, "nest", "20:00", "23:00", (140, 100))))
    past_it = score_night(truth(NEST), night(entry(1, "nest", "20:00", "23:00", (141, 100))))
    assert at_gate.events[0].rank == 1
    assert past_it.events[0] == EventScore("nest")
    assert (past_it.false_nests, past_it.false_alarms) == (1, 1)


@pytest.mark.parametrize(
    ("call", "false_nests", "false_alarms"),
    [("nest", 1, 1), ("unclear", 0, 1), ("trial", 0, 1), ("rest", 0, 0)],
)
def test_what_is_said_about_a_resting_animal(call: str, false_nests: int, false_alarms: int) -> None:
    score = score_night(truth(REST), night(entry(1, call, "23:30", "02:00", (200, 200))))
    assert (score.false_nests, score.false_alarms) == (false_nests, false_alarms)
    assert summarise([score]).rests.hits == (call == "rest")


def test_a_trial_called_nest_is_a_false_nest_but_no_false_alarm() -> None:
    score = score_night(truth(TRIAL), night(entry(1, "nest", "18:00", "18:40", (300, 100))))
    assert (score.false_nests, score.false_alarms) == (1, 0)


def test_passing_animals_are_no_events() -> None:
    passing = event("pass", "20:00", "20:10", (50, 50))
    assert score_night(truth(passing), night()).events == ()


def test_a_nest_ranked_below_its_trial_is_found_but_not_first() -> None:
    digs = night(
        entry(1, "unclear", "18:00", "18:40", (300, 100)), entry(2, "nest", "20:00", "23:00", (100, 100))
    )
    summary = summarise([score_night(truth(NEST, TRIAL), digs)])
    assert (summary.found.hits, summary.first.hits, summary.trials.hits) == (1, 0, 0)


def test_a_nest_set_aside_as_rest_is_missed() -> None:
    summary = summarise([score_night(truth(NEST), night(entry(1, "rest", "20:00", "23:00", (100, 100))))])
    assert (summary.found.hits, summary.first.hits) == (0, 0)


def test_two_nests_share_the_first_two_ranks() -> None:
    other = event("nest", "21:00", "23:30", (400, 300))
    digs = night(
        entry(1, "nest", "21:00", "23:30", (400, 300)), entry(2, "nest", "20:00", "23:00", (100, 100))
    )
    summary = summarise([score_night(truth(NEST, other), digs)])
    assert (summary.first.hits, summary.first.total, summary.timed.hits) == (2, 2, 2)


def test_an_animal_unseen_by_the_camera_cannot_be_matched() -> None:
    elsewhere = {**NEST, "per_camera": {"gate": NEST["per_camera"]["bank"]}}
    score = score_night(truth(elsewhere), night(entry(1, "nest", "20:00", "23:00", (100, 100))))
    assert score.events[0].call is None


def test_false_alarms_are_counted_per_camera_night() -> None:
    quiet, loud = night(), night(entry(1, "unclear", "20:00", "21:00", (10, 10)))
    loud["footage"] = [{"camera": "bank"}, {"camera": "gate"}]
    summary = summarise([score_night(truth(), quiet), score_night(truth(), loud)])
    assert summary.false_alarms_per_camera_night == pytest.approx(1 / 3)
    assert summary.found == Rate(0, 0, None, None)


def test_the_exact_interval_of_twenty_five_out_of_twenty_five() -> None:
    # All of n: the exact 95 % interval starts at 0.025 ** (1/n), the root of p**n = 0.025.
    perfect = rate([True] * 25)
    assert perfect.low == pytest.approx(0.025 ** (1 / 25))
    assert perfect.high == 1
    # 81 of 263: low 0.2527, high 0.3676 in table 1 of R. G. Newcombe, Statistics in Medicine 17, 1998,
    # pages 857-872 (exact method; the table is quoted from memory, the formula above is not).
    quarter = rate([True] * 81 + [False] * 182)
    assert quarter.low == pytest.approx(0.2527, abs=5e-5)
    assert quarter.high == pytest.approx(0.3676, abs=5e-5)


def test_spread_counts_sizes_and_leaves_unknowns_out() -> None:
    # 0, 10, ... 100 have median 50 and 90th percentile 90, whatever their signs.
    errors = [None, *[float(i) * (-1) ** (i // 10) for i in range(0, 110, 10)]]
    assert spread(errors).median == 50
    assert spread(errors).p90 == pytest.approx(90)
    assert spread(errors).count == 11
    assert spread([None]).median is None


def test_times_without_an_offset_are_refused() -> None:
    broken = {**NEST, "from": "2026-06-12T20:00:00"}
    with pytest.raises(ValueError, match="has no offset"):
        score_night(truth(broken), night())


def test_an_alarm_is_right_where_it_begins_with_its_nest() -> None:
    # One nest; one entry begins with it, one says unclear where nobody dug, rest and trial raise no alarm.
    digs = night(
        entry(1, "nest", "20:14", "23:00", (100, 100)),
        entry(2, "unclear", "21:00", "22:00", (10, 10)),
        entry(3, "trial", "18:00", "18:40", (300, 100)),
        entry(4, "rest", "23:30", "02:00", (200, 200)),
    )
    assert score_night(truth(NEST, TRIAL, REST), digs).alarms == Counts(true=1, found=2, matched=1)
    late = score_night(truth(NEST), night(entry(1, "nest", "20:16", "23:00", (100, 100))))
    assert late.alarms == Counts(true=1, found=1, matched=0)
    assert summarise([late, score_night(truth(NEST, TRIAL, REST), digs)]).alarms == Counts(2, 3, 1)


def test_eggs_lie_where_a_nest_shares_time_and_place() -> None:
    digs = night(
        {**entry(1, "nest", "20:00", "21:00", (100, 100)), "likelihood": 0.9},
        {**entry(2, "nest", "21:30", "23:00", (101, 100)), "likelihood": 0.8},
        {**entry(3, "trial", "18:00", "18:40", (300, 100)), "likelihood": 0.3},
        {**entry(4, "nest", "23:30", "23:50", (100, 100)), "likelihood": 0.2},
        entry(5, "rest", "23:30", "02:00", (200, 200)),
    )
    told = likelihoods(truth(NEST, TRIAL, REST), digs)
    assert told == [(0.9, True), (0.8, True), (0.3, False), (0.2, False)]
