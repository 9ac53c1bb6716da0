"""Event matching against the toolbox of the published rule, and against sums done by hand."""

from __future__ import annotations

import pytest

from nestwatch.synthetic.matching import Counts, Span, assign, collar_counts, collar_pairs, overlap

MINUTE = 60.0

# True, found and matched, as sed_eval 0.2.1 (with dcase_util 0.2.20, Python 3.11) counts them: `pip install
# sed_eval` in an environment of its own, then for every case, in seconds and with one label,
#     m = sed_eval.sound_event.EventBasedMetrics(["nest"], t_collar=900, percentage_of_length=0.5,
#                                                event_matching_type="optimal")
#     m.evaluate(reference_event_list, estimated_event_list)
#     m.overall["Nref"], m.overall["Nsys"], m.overall["Ntp"]
# The rule is that of Mesaros, Heittola, Virtanen 2016, doi 10.3390/app6060162. Minutes:
CASES = [
    pytest.param([(0, 120)], [(0, 120)], Counts(1, 1, 1), id="equal"),
    pytest.param([(0, 120)], [(15, 120)], Counts(1, 1, 1), id="onset on the collar"),
    pytest.param([(0, 120)], [(16, 120)], Counts(1, 1, 0), id="onset past the collar"),
    pytest.param([(0, 120)], [(0, 180)], Counts(1, 1, 1), id="offset late by half the length"),
    pytest.param([(0, 120)], [(0, 181)], Counts(1, 1, 0), id="offset later than that"),
    pytest.param([(0, 20)], [(0, 35)], Counts(1, 1, 1), id="short event: the collar rules its offset"),
    pytest.param([(0, 120)], [(0, 55), (65, 120)], Counts(1, 2, 0), id="one event found as two"),
    pytest.param([(0, 60), (70, 130)], [(0, 130)], Counts(2, 1, 0), id="two events found as one"),
    pytest.param([(0, 120), (10, 120)], [(10, 120), (-14, 120)], Counts(2, 2, 2), id="greedy loses one"),
    pytest.param(
        [(0, 100), (14, 114), (28, 128)], [(14, 114), (28, 128), (42, 142)], Counts(3, 3, 3), id="chain"
    ),
]


def in_seconds(spans: list[Span]) -> list[Span]:
    return [(start * MINUTE, end * MINUTE) for start, end in spans]


@pytest.mark.parametrize(("true", "found", "counts"), CASES)
def test_counts_equal_those_of_sed_eval(true: list[Span], found: list[Span], counts: Counts) -> None:
    assert collar_counts(in_seconds(true), in_seconds(found), collar_s=900) == counts


def arithmetic_night() -> tuple[list[Span], list[Span]]:
    """Forty events and thirty-four found ones from plain integer arithmetic, in seconds."""
    true = [(i * 1800, i * 1800 + 1200 + (i * i * 97) % 5400) for i in range(40)]
    found = [
        (start + (i * i * 613) % 1600 - 800, end + (i * i * i * 391) % 3600 - 300)
        for i, (start, end) in enumerate(true)
        if i % 7
    ]
    return [(float(a), float(b)) for a, b in true], [(float(a), float(b)) for a, b in found]


@pytest.mark.parametrize(
    ("collar_s", "share", "matched", "f_measure"),
    [(900.0, 0.5, 15, 0.4054054054054054), (600.0, 0.2, 3, 0.08108108108108107)],
)
def test_a_crowded_night_equals_sed_eval(
    collar_s: float, share: float, matched: int, f_measure: float
) -> None:
    # Values printed by sed_eval 0.2.1 for the same lists (command above).
    counts = collar_counts(*arithmetic_night(), collar_s=collar_s, offset_share=share)
    assert counts == Counts(40, 34, matched)
    assert counts.f_measure == pytest.approx(f_measure)


def test_rates_of_nothing_are_unknown() -> None:
    empty = collar_counts([], [], collar_s=900)
    assert (empty.recall, empty.precision, empty.f_measure) == (None, None, None)
    assert collar_counts([(0, 60)], [], collar_s=900).recall == 0


def test_overlap_by_hand() -> None:
    # 0-60 with 30-90: 30 of 90 minutes. 0-60 with 60-90: they only touch. 0-60 with 10-20: 10 of 60.
    shares = overlap([(0, 60)], [(30, 90), (60, 90), (10, 20), (0, 60)])
    assert shares[0].tolist() == pytest.approx([1 / 3, 0, 1 / 6, 1])


def test_one_more_pair_outweighs_closer_pairs() -> None:
    allowed = collar_pairs([(0, 100), (10, 100)], [(10, 100), (20, 100)], collar_s=10)
    closeness = overlap([(0, 100), (10, 100)], [(10, 100), (20, 100)])
    # The second true event equals the first found one, yet taking that pair would leave one event alone.
    assert assign(allowed, closeness) == [(0, 0), (1, 1)]


def test_among_equals_the_closest_pairs_win() -> None:
    true, found = [(0.0, 100.0), (5.0, 105.0)], [(5.0, 105.0), (0.0, 100.0)]
    assert assign(collar_pairs(true, found, collar_s=900), overlap(true, found)) == [(0, 1), (1, 0)]
