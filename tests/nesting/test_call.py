"""What a stay is called, how likely eggs are, and the words a keeper reads."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nestwatch.nesting.call import BUSY, HALF_SHOWN, ONLY_TOLD, call_of, reasons_of
from nestwatch.nesting.evidence import Evidence, likelihood
from tests.nesting.evidences import REST, TRIAL, evidence

NAN = float("nan")


def called(of: Evidence) -> str:
    return call_of(of, likelihood(of))


def test_the_plain_cases() -> None:
    assert called(evidence()) == "nest"
    assert called(evidence(**TRIAL)) == "trial"
    assert called(evidence(**REST)) == "rest"


def test_packed_soil_hides_nothing_from_the_limbs() -> None:
    """Soil is packed down and finished sites are often invisible (trade facts): ground is never required."""
    assert called(evidence(ground=0.0)) == "nest"
    assert called(evidence(ground=NAN)) == "nest"


def test_changed_ground_alone_is_never_a_quiet_rest() -> None:
    """Denoised footage may show no limb at all: then the ground carries it."""
    assert called(evidence(**{**REST, "ground": 0.4, "minutes": 150.0})) == "unclear"


def test_ground_that_changed_under_limbs_that_do_not_show_is_unclear_and_likely() -> None:
    smoothed = evidence(**{**TRIAL, "limbs": 0.0, "ground": 0.6})
    assert called(smoothed) == "unclear"
    assert likelihood(smoothed) > 0.5 > likelihood(evidence(**{**TRIAL, "ground": 0.6}))
    assert any("smooth" in reason for reason in reasons_of(smoothed, "unclear"))


def test_leaves_that_sway_over_a_digging_animal_leave_it_unclear() -> None:
    behind = evidence(**{**TRIAL, "rhythm": 12.0})
    assert called(behind) == "unclear"
    assert likelihood(behind) > likelihood(evidence(**TRIAL))
    assert any("sways" in reason for reason in reasons_of(behind, "unclear"))


def test_a_long_stay_behind_leaves_that_shows_no_limbs_is_unclear_and_not_a_rest() -> None:
    hidden = evidence(**{**REST, "minutes": 90.0, "length_ratio": 0.3}, leaves=True)
    assert called(hidden) == "unclear"
    assert any("sways" in reason for reason in reasons_of(hidden, "unclear"))
    assert likelihood(hidden) > likelihood(replace(hidden, leaves=False))
    assert called(replace(hidden, minutes=20.0)) == "rest"


def test_a_shell_that_looks_busy_for_hours_but_shows_no_limb_in_any_burst_is_at_rest() -> None:
    busy = {"dig_over_rest": 68.0, "strength": 0.39, "nest_over_trial": 3.0, "limbs": 0.18, "rhythm": 1.2}
    assert called(evidence(**busy, best_burst=0.25, ground=-0.1)) == "rest"
    assert called(evidence(**busy, best_burst=0.6, ground=-0.1)) == "unclear"
    assert called(evidence(**{**busy, "limbs": 0.35}, best_burst=0.6, ground=-0.1)) == "nest"


def test_a_story_that_neither_limbs_nor_ground_bear_out_is_unclear_and_stays_high_in_the_list() -> None:
    """Snow or moths over a resting animal tell it now and then; so may a small female in packed soil."""
    told = evidence(limbs=0.1, ground=0.0)
    assert called(told) == "unclear"
    assert likelihood(told) > 0.6
    assert ONLY_TOLD in reasons_of(told, "unclear")
    assert called(replace(told, limbs=NAN)) == "nest", "no close look could be had: the skim decides"
    assert called(replace(told, ground=0.3)) == "nest"


def test_a_nests_story_with_little_of_the_limbs_in_it_is_unclear_and_a_busy_shells_is_not() -> None:
    """Among moths bursts show less than what flies around her; but a resting animal's show nothing at all."""
    moths = {"dig_over_rest": 80.0, "strength": 0.51, "nest_over_trial": 7.5, "limbs": -0.61, "ground": 0.04}
    shown = evidence(**moths, best_burst=0.63, rhythm=1.58)
    assert called(shown) == "unclear"
    assert 0.3 < likelihood(shown) < 0.6
    assert HALF_SHOWN in reasons_of(shown, "unclear")
    busy = evidence(**moths, best_burst=0.2, rhythm=1.2)
    assert called(busy) == "rest"
    assert likelihood(busy) < likelihood(shown)
    assert called(replace(shown, nest_over_trial=1.0)) == "rest"
    assert called(replace(shown, length_ratio=0.3)) == "rest"


def test_a_dig_among_moths_that_shows_no_pause_is_unclear_and_not_a_trial() -> None:
    flown = evidence(**TRIAL, moved=6.0)
    assert called(flown) == "unclear"
    assert likelihood(flown) > 0.3 > likelihood(evidence(**TRIAL))
    assert BUSY in reasons_of(flown, "unclear")
    assert called(evidence(**TRIAL, moved=2.0)) == "trial"
    assert called(evidence(moved=6.0)) == "nest"
    assert called(evidence(**REST, moved=6.0)) == "rest"


def test_a_toad_that_leaves_a_mark_is_no_nest() -> None:
    assert called(evidence(**{**REST, "ground": 0.4, "minutes": 150.0, "length_ratio": 0.35})) == "rest"


@pytest.mark.parametrize("hidden", [{"end_seen": False}, {"start_seen": False}, {"unseen_min": 25.0}])
def test_a_dig_seen_in_part_is_not_called_a_trial(hidden: dict[str, object]) -> None:
    assert called(evidence(**{**TRIAL, **hidden})) == "unclear"


def test_what_is_larger_than_the_animal_is_never_called_a_nest() -> None:
    assert called(evidence(wide=True)) == "unclear"


def test_fog_over_a_dig_leaves_it_unclear_with_the_minutes_it_lay_there() -> None:
    """The pause in which eggs are laid, or the covering after it, may lie in the fog."""
    foggy = evidence(**{**TRIAL, "fogged_min": 27.0})
    assert called(foggy) == "unclear"
    assert likelihood(foggy) > likelihood(evidence(**TRIAL))
    assert "fog, blur or glare lay over 27 min of it" in reasons_of(foggy, "unclear")
    assert called(evidence(**{**TRIAL, "fogged_min": 5.0})) == "trial"
    assert called(evidence(fogged_min=27.0)) == "nest"


@pytest.mark.parametrize(
    ("doubt", "words"),
    [
        ({"best_burst": 0.03, "limbs": 0.01, "rhythm": 1.1}, "shadow"),
        ({"rhythm": 8.0}, "sways"),
        ({"glared": 0.6}, "spider"),
        ({"hung": 0.6}, "web"),
    ],
)
def test_stirring_that_something_else_may_have_made_is_never_called_a_nest(
    doubt: dict[str, float], words: str
) -> None:
    """A shadow's edge over a resting animal, leaves, a spider: with ground that shows no work they tell the
    story of a nest as well as a female does. High enough in the list to be looked at all the same."""
    told = evidence(**doubt, ground=0.0)
    assert called(told) == "unclear"
    assert 0.5 < likelihood(told) < 0.65 < likelihood(evidence(ground=0.0))
    assert any(words in reason for reason in reasons_of(told, "unclear"))


def test_ground_that_changed_speaks_for_a_nest_behind_leaves() -> None:
    assert called(evidence(rhythm=8.0, ground=0.3)) == "nest"


def test_of_two_doubtful_stays_the_better_story_comes_first() -> None:
    better, worse = (evidence(glared=0.6, nest_over_trial=story) for story in (12.0, 3.0))
    assert likelihood(better) > likelihood(worse)


def test_nesting_hours_weigh_little() -> None:
    """A dig outside nesting hours is listed, called and ranked by what was seen."""
    inside, outside = evidence(), evidence(in_hours=False)
    assert called(outside) == "nest"
    assert 0 < likelihood(inside) - likelihood(outside) < 0.1
    assert "outside nesting hours" in reasons_of(outside, "nest")
    doubtful = {"nest_over_trial": 2.5, "ground": 0.02, "limbs": 0.3}
    change = likelihood(evidence(**doubtful)) - likelihood(evidence(**doubtful, in_hours=False))
    assert 0 < change < 0.3


def test_a_night_until_03_40_is_a_nest_like_any_other() -> None:
    """Common practice, no source: females come ashore 16:00-18:00, dig after sunset, may go on until
    03:00-04:00, take several hours, lay 4-7 eggs."""
    long = evidence(minutes=310.0, stirred_min=210.0, dig_min=180.0, lay_min=40.0, cover_min=70.0)
    assert called(long) == "nest"
    assert reasons_of(long, "nest")[0] == "stayed 5 h 10 min on one spot"


def test_the_words_of_a_nest() -> None:
    assert reasons_of(evidence(), "nest") == (
        "stayed 2 h 04 min on one spot",
        "hind-end movement for 1 h 32 min",
        "then a quiet 22 min and 30 min of covering movement",
        "ground differs afterwards",
    )


def test_the_words_of_a_trial() -> None:
    told = reasons_of(evidence(**TRIAL, minutes=40.0, stirred_min=31.0, rhythm=NAN), "trial")
    assert told == (
        "stayed 40 min on one spot",
        "hind-end movement for 31 min",
        "no quiet stretch followed by covering: left without laying",
        "ground looks the same afterwards (a packed nest can)",
    )


def test_what_was_not_seen_is_said() -> None:
    told = reasons_of(evidence(start_seen=False, end_seen=False, unseen_min=12.0, ground=NAN), "unclear")
    assert set(told) >= {
        "ground before and after could not be compared",
        "its beginning was not seen",
        "its end was not seen",
        "12 min of it was not recorded",
    }


numbers = st.floats(-60, 200, allow_nan=False)
anything = st.builds(
    evidence,
    minutes=st.floats(8, 900), stirred_min=st.floats(0, 600), dig_over_rest=numbers, nest_over_trial=numbers,
    strength=st.floats(-1, 3) | st.just(NAN), limbs=st.floats(-1, 4) | st.just(NAN),
    rhythm=st.floats(0, 90) | st.just(NAN), ground=st.floats(-1, 1) | st.just(NAN),
    looks=st.floats(0, 1) | st.just(NAN), in_hours=st.booleans(), unseen_min=st.floats(0, 300),
    company=st.floats(-1, 1), weather=st.floats(0, 4),
    start_seen=st.booleans(), end_seen=st.booleans(), wide=st.booleans(),
)  # fmt: skip


@given(anything)
def test_whatever_was_measured_there_is_a_call_and_words(seen: Evidence) -> None:
    chance = likelihood(seen)
    call = call_of(seen, chance)
    assert 0 <= chance <= 1
    assert call != "nest" or chance >= 0.5
    for reason in reasons_of(seen, call):
        assert not re.search(r"nan|inf\b|None|-\d", reason)


@given(anything, st.floats(0, 60))
def test_a_better_story_never_makes_eggs_less_likely(seen: Evidence, more: float) -> None:
    better = replace(seen, nest_over_trial=seen.nest_over_trial + more)
    assert likelihood(better) >= likelihood(seen) - 1e-12
