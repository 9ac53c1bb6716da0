"""Published nests are taken for nests, published failures for trials; pauses and noise as they come."""

from __future__ import annotations

from itertools import accumulate

import numpy as np
import pytest

from nestwatch.nesting.evidence import NEST_STORY
from nestwatch.nesting.stages import STORIES, Told, tell
from tests.nesting.series import STEP_S, Part, split, stirred

SEEDS = range(5)
ASHORE = [("rest", 10.0)]

NESTS: dict[str, list[Part]] = {
    # Najbar & Szuszkiewicz 2005, Acta Zool. Cracov. 48A: 11-19: E. orbicularis, digging to covering 60 to 145
    # min, mean 97.7.
    "E. orbicularis, shortest": split(60),
    "E. orbicularis, mean": split(97.7),
    "E. orbicularis, longest": split(145),
    # Frye et al. 2017, Chelonian Conserv. Biol. 16(1): C. picta, search 26 min, construction 97 min.
    "C. picta, mean": [("search", 26), *split(97)],
    # One watched C. picta: dig about 45, lay under 10, cover 20 min (a keeper's log).
    "C. picta, one watched": [("dig", 45), ("lay", 8), ("cover", 20)],
    # A C. guttata in a pen, 21:00 to 01:30 with more than 30 min of covering again (a keeper's log).
    "C. guttata in a pen": [("dig", 205), ("lay", 25), ("cover", 40)],
    # A T. carolina: dig from 17:48, first egg 19:50, covered by 21:24 (a keeper's log).
    "T. carolina": [("dig", 122), ("lay", 30), ("cover", 64)],
    # Booth 2011, Aust. Zool. 35: 198-203: E. signata, digging 20 to 180 min by hardness of the soil.
    "E. signata, soft soil": [("dig", 20), ("lay", 12), ("cover", 15)],
    "E. signata, hard soil": [("dig", 180), ("lay", 20), ("cover", 40)],
    # Dedieu et al. 2023, Chelonian Conserv. Biol. 22: 46: B. baska filmed in a breeding centre, 1.5 h.
    "B. baska": split(90),
    # Common practice, no source: dig after sunset, may go on until 03:00-04:00, takes several hours.
    "until 03:40": [("search", 20), ("dig", 180), ("lay", 40), ("cover", 70)],
}
TRIALS: dict[str, list[Part]] = {
    # A C. guttata in a pen: dug about 2 h, gave up at a stone (a keeper's log).
    "C. guttata at a stone": [("dig", 120)],
    # Can. Field-Nat. 2004, 118(4): Chelydra dug without laying, then hid overnight.
    "Chelydra, then hidden": [("dig", 60), ("rest", 240)],
    "short": [("search", 5), ("dig", 15)],
    "half an hour": [("dig", 30), ("rest", 4)],
}


def better(told: dict[str, Told], one: str, other: str) -> float:
    return told[one].score - told[other].score


@pytest.mark.parametrize("strength", [0.8, 1.2, 1.8])
@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("name", NESTS)
def test_a_published_nest_is_told_as_a_nest(name: str, seed: int, strength: float) -> None:
    told = tell(stirred([*NESTS[name], ("rest", 6)], seed=seed, strength=strength), STEP_S)
    assert better(told, "nest", "trial") > NEST_STORY
    assert better(told, "nest", "rest") > 4


@pytest.mark.parametrize("strength", [0.8, 1.2, 1.8])
@pytest.mark.parametrize("name", TRIALS)
def test_digging_without_a_quiet_stretch_and_covering_is_a_trial(name: str, strength: float) -> None:
    """By chance pauses may look like a short laying: seldom enough for a nest, mostly a trial."""
    series = [stirred(TRIALS[name], seed=seed, strength=strength) for seed in range(40)]
    told = [tell(stir, STEP_S) for stir in series]
    assert min(better(each, "trial", "rest") for each in told) > 4
    over = [better(each, "nest", "trial") for each in told]
    assert np.mean(np.array(over) >= NEST_STORY) <= 0.1
    assert sorted(over)[len(over) // 2] < 1


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("minutes", [30, 120, 360, 600])
def test_resting_is_told_as_rest(minutes: float, seed: int) -> None:
    told = tell(stirred([("rest", minutes)], seed=seed), STEP_S)
    assert max(better(told, "nest", "rest"), better(told, "trial", "rest")) < 4


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("name", NESTS)
def test_the_stages_of_a_nest_are_found_to_a_few_minutes(name: str, seed: int) -> None:
    parts = NESTS[name]
    told = tell(stirred([*parts, ("rest", 6)], seed=seed), STEP_S)["nest"]
    ends = dict(zip([what for what, _ in parts], accumulate(minutes for _, minutes in parts), strict=True))
    found = {what: last * STEP_S / 60 for what, _, last in told.parts}
    for what in ("dig", "lay", "cover"):
        assert found[what] == pytest.approx(ends[what], abs=10)


@pytest.mark.parametrize("seed", SEEDS)
def test_minutes_not_recorded_do_not_make_a_nest_a_trial(seed: int) -> None:
    """Ten minutes lost while she digs, five while she lays."""
    stir = stirred([*split(97.7), ("rest", 6)], seed=seed)
    stir[40:60] = np.nan
    stir[125:135] = np.nan
    assert better(tell(stir, STEP_S), "nest", "trial") > NEST_STORY


@pytest.mark.parametrize("seed", SEEDS)
def test_infrared_in_which_a_still_shell_stirs_more_does_not_hide_the_laying(seed: int) -> None:
    """The light changes just before she lays; there even a quiet animal costs the encoder more."""
    parts = split(97.7)
    stir = stirred([*parts, ("rest", 6)], seed=seed)
    spell = (np.arange(len(stir)) >= parts[0][1] * 60 / STEP_S - 4).astype(np.int16)
    told = tell(stir + 0.5 * spell.astype(np.float32), STEP_S, spell=spell)
    assert better(told, "nest", "trial") > NEST_STORY
    lay = next(part for part in told["nest"].parts if part[0] == "lay")
    assert lay[1] * STEP_S / 60 == pytest.approx(parts[0][1], abs=6)


@pytest.mark.parametrize("length", [0, 1, 5, 40])
def test_a_stay_too_short_for_a_story_has_none(length: int) -> None:
    told = tell(np.zeros(length, np.float32), STEP_S)
    assert told["nest"] == Told(float("-inf"), ())
    assert np.isfinite(told["rest"].score)


def test_parts_follow_each_other_and_keep_their_bounds() -> None:
    stir = stirred([*ASHORE, *split(145)], seed=9)
    for name, story in STORIES.items():
        parts = tell(stir, STEP_S)[name].parts
        bounds = {stretch.name: (stretch.shortest, stretch.longest) for stretch in story}
        edges = [0, *(last for _, _, last in parts)]
        assert edges[-1] == len(stir)
        assert edges[:-1] == [first for _, first, _ in parts]
        for what, first, last in parts:
            low, high = bounds[what]
            assert low <= (last - first) * STEP_S / 60 <= high


def test_another_length_of_half_minutes_tells_the_same() -> None:
    """Stills a minute apart come in longer bins."""
    stir = stirred([*split(97.7), ("rest", 6)], seed=3)
    told = tell(stir[: len(stir) // 2 * 2].reshape(-1, 2).mean(axis=1), 2 * STEP_S)
    assert better(told, "nest", "trial") > 2
