"""Everything known about one stay in numbers, and the likelihood that eggs lie there."""

from __future__ import annotations

import math
from dataclasses import dataclass

from nestwatch.nesting.stages import Told


@dataclass(frozen=True, slots=True)
class Evidence:
    """What was measured of a stay. NaN is unknown.

    `minutes`: its length. `stirred_min`: active minutes in it. `dig_min`, `lay_min`, `cover_min`: stages
    of the nest story (0 where it does not fit). `dig_over_rest`, `nest_over_trial`: differences of log
    likelihood. `strength`: mean log energy ratio of the active half minutes above
    that of its quiet ones. `limbs`: median log energy of
    the bursts against their rim; `best_burst`: that of the second best burst; `rhythm`: their median spectral
    peak over the band's median. `ground`:
    unlikeness of the ground after to before beyond the rim's. `looks`: how clearly something lay there
    (0..1). `length_ratio`: outline over expected shell length. `in_hours`: inside nesting hours.
    `unseen_min`: minutes of it without pictures. `company`: correlation (-1..1) of its stirring with that of
    spots far away, half minute by half minute: wind and rain keep company, limbs do not.
    `hidden`: unlikeness of the spot during the stay to the ground before or after (the lesser), beyond the
    rim's. `weather`: how much the whole picture's energy steps at the stay's start and at its end (log, the
    lesser): rain begins and ends everywhere at once. `fogged_min`: minutes of it in which fog, blur or glare
    weakened the whole picture. `glared`: share of it in which something bright hid its spot. `leaves`:
    something that was there long before and after it stirs over the spot. `hung`: share of it in which a web
    or a branch before the lens moved over the spot now and then, for hours. `moved`: changed patches a frame
    elsewhere in the picture meanwhile.
    """

    minutes: float
    stirred_min: float
    dig_min: float
    lay_min: float
    cover_min: float
    dig_over_rest: float
    nest_over_trial: float
    strength: float
    limbs: float
    best_burst: float
    rhythm: float
    ground: float
    looks: float
    length_ratio: float
    in_hours: bool
    unseen_min: float
    company: float
    hidden: float
    weather: float
    start_seen: bool
    end_seen: bool
    wide: bool
    fogged_min: float
    glared: float
    leaves: bool = False
    hung: float = 0.0
    moved: float = 0.0


NEST_STORY = 2.5
"""How much likelier (log) stirring is as a nest than as a trial from which on it tells a nest's story."""
GROUND_CLEAR = 0.06
"""Ground counts as clearly changed when it differs this much more than the rim does."""
_LEAST_DIG_MIN = 8.0
_SWAYING = 5.5
"""Spectral peak over the band's median: leaves keep time far better than feet do (6 to 17 against 1 to 4.4 on
invented building nights). It never drops an animal that was seen, nor a whole story of a nest."""
_BURST_SHOWS, _BEAT_SHOWS = 0.3, 1.45
"""Second best burst and rhythm below which bursts show nothing: resting animals of invented building nights
came to 0.29 and 1.3 (once 0.49), the faintest diggers with working limbs to 0.32 and more."""
_SLOPE, _OFFSET = 0.61, 0.17
"""Platt scaling of the sum of evidence, by `dev.py fit-likelihood` on 113 entries (28 with eggs) of 23
building nights of the bad families, seeds 1 and 2: with nights left out the Brier score went from 0.070 to
0.067."""
_FOGGED_MIN = 10.0
"""Minutes of fog from which on a pause or covering may have passed unseen."""
_MUCH_MOVED = 4.0
"""Patches a frame elsewhere: 5 to 11 among invented moths and in snow, 1 to 3 without (the picture's clock is
one)."""
_DOUBTFUL = 0.1
_BEFORE_LENS = 0.4
"""Share of a stay hidden by something before the lens from which on that may be all that moved there."""
_LIMBS_SHOW = 0.2
"""Log energy of bursts over their rim from which limbs are taken to be seen at all."""


def dug(evidence: Evidence) -> bool:
    """True where limbs were seen at work for long enough to be a dig."""
    return may_have_dug(evidence) and work_score(evidence) > 0.0


def may_have_dug(evidence: Evidence) -> bool:
    """True where the skim shows stirring that lasted long enough to be a dig."""
    return evidence.dig_over_rest > 4.0 and evidence.stirred_min >= _LEAST_DIG_MIN


def work_score(evidence: Evidence) -> float:
    """Above 0 where stirring is strong and lasting enough to be limbs, by skim, bursts and soil together.

    A resting animal breathes, moves its head and costs the encoder bits: it stirs a little and now and then,
    and its bursts show nothing beyond their rim. A small digger far away shows little in any one burst, but
    stirs for an hour. Without bursts the skim alone decides.
    """
    lasting = min(evidence.dig_over_rest, 100.0) / 60.0 - 0.45
    strong = 0.0 if math.isnan(evidence.strength) else 4.0 * (min(evidence.strength, 1.0) - 0.38)
    by_burst = 0.0 if math.isnan(evidence.limbs) else min(evidence.limbs, 2.0) - 0.2
    # Bursts that show less than the rim speak against limbs more than a few strokes speak for them.
    by_burst = max(-2.0, 3.0 * by_burst) if by_burst < 0 else by_burst
    # A shell that costs the encoder more than soil does looks busy for hours, but no burst finds a limb.
    by_burst -= 1.0 if _bursts_show_nothing(evidence) else 0.0
    everywhere = 6.0 * max(0.0, evidence.company - 0.3) + 4.0 * max(0.0, evidence.weather - 0.15)
    # A faint digger that stops to lay and works again tells a story that rest does not.
    story = 0.15 * min(4.0, max(0.0, evidence.nest_over_trial - 4.0))
    # Ground that changed under an animal that stirred: what its limbs did not show, the soil does.
    soil = 0.0 if math.isnan(evidence.ground) else 3.0 * min(0.4, max(0.0, evidence.ground - GROUND_CLEAR))
    return lasting + strong + by_burst + story + soil - everywhere


def half_shown(evidence: Evidence) -> bool:
    """True where what stirred tells a nest's whole story and close looks show something at work, and yet all
    together is too little for limbs: moths about an animal outshine them.

    An animal that rests can stir as long, but then its bursts show nothing.
    """
    quiet = dug(evidence) or _bursts_show_nothing(evidence)
    return may_have_dug(evidence) and not quiet and evidence.nest_over_trial >= NEST_STORY


def ground_changed(evidence: Evidence) -> bool:
    """True where the ground clearly differs after the stay."""
    return evidence.ground > GROUND_CLEAR


def limbs_hidden(evidence: Evidence) -> bool:
    """True where the ground clearly changed under an animal whose bursts show no limbs.

    Footage can be smoothed until they vanish. Then the stages say nothing, and the soil must speak.
    """
    return ground_changed(evidence) and evidence.limbs < _LIMBS_SHOW


def swaying(evidence: Evidence) -> bool:
    """True where movement keeps time as leaves in the wind do: if they hang over an animal, its own stages
    cannot be told."""
    return evidence.rhythm > _SWAYING


def veiled(evidence: Evidence) -> bool:
    """True where something between camera and animal, or over both, makes its stages doubtful: a missing
    pause or covering then says nothing against a nest."""
    behind = evidence.wide or evidence.leaves or swaying(evidence) or fogged(evidence)
    return behind or glared(evidence) or hung(evidence) or limbs_hidden(evidence) or busy(evidence)


def fogged(evidence: Evidence) -> bool:
    """True where fog, blur or glare lay over the whole picture for a good part of a stage."""
    return evidence.fogged_min >= _FOGGED_MIN


def glared(evidence: Evidence) -> bool:
    """True where something bright before the lens, such as a spider, hid the spot for much of the stay."""
    return evidence.glared >= _BEFORE_LENS


def hung(evidence: Evidence) -> bool:
    """True where a web or a branch before the lens moved over the spot for hours."""
    return evidence.hung >= _BEFORE_LENS


def busy(evidence: Evidence) -> bool:
    """True where so much else moved, such as moths or snow, that it passed over her too: a pause in her work
    may not have shown as one."""
    return evidence.moved >= _MUCH_MOVED


def only_stirs(evidence: Evidence) -> bool:
    """True where neither a close look found limbs nor the ground shows work: an edge of a shadow that creeps
    over a resting animal stirs as long as a dig does."""
    return _bursts_show_nothing(evidence) and not ground_changed(evidence)


def _bursts_show_nothing(evidence: Evidence) -> bool:
    return evidence.best_burst < _BURST_SHOWS and evidence.rhythm < _BEAT_SHOWS


def only_told(evidence: Evidence) -> bool:
    """True where neither most close looks nor the ground show work: only the course of its stirring speaks
    for a nest, and snow or moths over a resting animal tell such a story now and then."""
    return evidence.limbs < _BURST_SHOWS and not ground_changed(evidence)


def only_sways(evidence: Evidence) -> bool:
    """True where what moves keeps time as leaves do and the ground shows no work: leaves or their shadow tell
    such a story as well as an animal behind them does."""
    return swaying(evidence) and not ground_changed(evidence)


def doubtful(evidence: Evidence) -> bool:
    """True where all that speaks for a nest may have been made by something else than a turtle there."""
    unseen = math.isnan(evidence.looks) or evidence.wide or glared(evidence) or hung(evidence)
    return unseen or only_sways(evidence) or only_stirs(evidence)


def story_evidence(told: dict[str, Told], step_s: float) -> dict[str, float]:
    """Stage lengths of the nest story in minutes, and the log likelihood differences between stories."""
    minutes = {"dig": 0.0, "lay": 0.0, "cover": 0.0}
    for name, first, last in told["nest"].parts:
        if name in minutes:
            minutes[name] += (last - first) * step_s / 60
    rest = told["rest"].score
    nest, trial = (_finite(told[k].score, rest) for k in ("nest", "trial"))
    return {
        "dig_min": minutes["dig"],
        "lay_min": minutes["lay"],
        "cover_min": minutes["cover"],
        "dig_over_rest": max(nest, trial) - rest,
        "nest_over_trial": nest - trial,
    }


def _finite(score: float, rest: float) -> float:
    return score if math.isfinite(score) else rest - 50.0


def likelihood(evidence: Evidence) -> float:
    """Probability (0..1) that eggs lie there. A logistic on the evidence, see docs/method.md."""
    return 1.0 / (1.0 + math.exp(-_SLOPE * _logit(evidence) - _OFFSET))


def _logit(e: Evidence) -> float:
    known_ground = 0.0 if math.isnan(e.ground) else e.ground
    known_limbs = 1.0 if math.isnan(e.limbs) else e.limbs
    z = -4.0
    z += 2.0 * min(1.0, max(0.0, e.dig_over_rest) / 10.0)
    story = 5.0 * math.tanh((e.nest_over_trial - 2.0) / 4.0) if dug(e) else 0.0
    z += max(story, 0.0) if veiled(e) else story
    z += 1.0 * min(1.0, max(-0.5, known_limbs / 2.0))
    z += 1.2 * min(1.0, max(-0.2, known_ground / 0.3))
    z += 0.7 if e.in_hours else -0.3
    z += 0.8 if e.minutes >= 45 else -1.0
    z -= 2.0 if e.wide and not dug(e) else 0.0
    z -= 4.0 * max(0.0, e.company - 0.3) + (2.0 if math.isnan(e.looks) else 0.0)
    z -= 0.0 if dug(e) or ground_changed(e) or e.leaves or half_shown(e) else 2.0
    # Movement without an animal to be seen is as likely a spider or a plant, whatever its story; of several
    # the better story still comes first.
    return _DOUBTFUL * z if doubtful(e) and z > 0 else z
