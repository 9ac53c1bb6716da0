"""The call: nest, trial, rest or unclear, and why, in words a keeper would use."""

from __future__ import annotations

import math

from nestwatch.nesting.evidence import (
    NEST_STORY,
    Evidence,
    busy,
    doubtful,
    dug,
    fogged,
    glared,
    ground_changed,
    half_shown,
    hung,
    limbs_hidden,
    only_stirs,
    only_told,
    swaying,
    veiled,
)
from nestwatch.nesting.records import Call

_NEST = 0.6
TRIAL_STORY = 0.5
_MANY_UNSEEN_MIN = 10.0
_LONG_STAY_MIN = 40.0
HUNG = "a web or a branch before the lens moved here for hours: it may be all that moved"
SPIDER = "something bright before the lens, such as a spider, hid the spot for much of it"
BUSY = "much else moved, such as insects, snow or leaves: a pause in her work may not have shown"
ONLY_TOLD = "most close looks found no limbs at work and the ground no change: it may be an animal at rest"
HALF_SHOWN = "it stirred, paused and stirred again as at a nest, but limbs at work were not made out"
_SMALLEST = 0.5
"""Of the expected shell: what sits there and is smaller, such as a toad, buries no eggs."""


def call_of(evidence: Evidence, likelihood: float) -> Call:
    """The call for one stay. `unclear` wherever evidence is one-sided or hidden, never a quiet `rest`."""
    if not dug(evidence):
        turtle = evidence.leaves or not evidence.length_ratio < _SMALLEST
        hides_work = ground_changed(evidence) or evidence.leaves or half_shown(evidence)
        quiet_work = turtle and hides_work and evidence.minutes >= _LONG_STAY_MIN
        return "unclear" if quiet_work and not evidence.wide else "rest"
    if doubtful(evidence):
        return "unclear"
    if evidence.nest_over_trial >= NEST_STORY and likelihood >= _NEST:
        return "unclear" if only_told(evidence) else "nest"
    hidden = not evidence.end_seen or not evidence.start_seen or evidence.unseen_min > _MANY_UNSEEN_MIN
    if hidden or veiled(evidence) or evidence.nest_over_trial > TRIAL_STORY:
        return "unclear"
    return "trial"


def reasons_of(evidence: Evidence, call: Call) -> tuple[str, ...]:
    """Short sentences that say what was seen, and what was not."""
    out = [f"stayed {_duration(evidence.minutes)} on one spot", _limb_reason(evidence)]
    if call == "nest" or (dug(evidence) and evidence.nest_over_trial > 0):
        quiet, cover = _duration(evidence.lay_min), _duration(evidence.cover_min)
        out.append(f"then a quiet {quiet} and {cover} of covering movement")
    elif call == "trial":
        out.append("no quiet stretch followed by covering: left without laying")
    out.append(_ground_reason(evidence))
    out += _doubts(evidence)
    if call == "unclear" and dug(evidence) and busy(evidence):
        out.append(BUSY)
    return tuple(out)


def _limb_reason(e: Evidence) -> str:
    if not dug(e):
        return (
            "no lasting hind-end movement"
            if e.stirred_min < 3
            else f"moved {_duration(e.stirred_min)} in all"
        )
    return f"hind-end movement for {_duration(e.stirred_min)}"


def _ground_reason(e: Evidence) -> str:
    if math.isnan(e.ground):
        return "ground before and after could not be compared"
    return (
        "ground differs afterwards"
        if ground_changed(e)
        else "ground looks the same afterwards (a packed nest can)"
    )


def _doubts(e: Evidence) -> list[str]:
    out = []
    if not e.start_seen:
        out.append("its beginning was not seen")
    if not e.end_seen:
        out.append("its end was not seen")
    if e.unseen_min > 2:
        out.append(f"{_duration(e.unseen_min)} of it was not recorded")
    if not e.in_hours:
        out.append("outside nesting hours")
    if half_shown(e):
        out.append(HALF_SHOWN)
    if limbs_hidden(e):
        out.append("the ground changed but no limbs were seen at work: the picture may smooth them away")
    if dug(e) and only_stirs(e):
        out.append("a close look found no limbs at work and the ground no change: it may be a moving shadow")
    elif dug(e) and only_told(e):
        out.append(ONLY_TOLD)
    return out + _veils(e)


def _veils(e: Evidence) -> list[str]:
    """What lay between the camera and the ground."""
    out = []
    if e.leaves or (dug(e) and swaying(e)):
        out.append("something sways over the spot: what happens behind it is hard to tell")
    if dug(e) and fogged(e):
        out.append(f"fog, blur or glare lay over {_duration(e.fogged_min)} of it")
    if glared(e):
        out.append(SPIDER)
    if hung(e):
        out.append(HUNG)
    if math.isnan(e.looks):
        out.append("only movement was seen, no animal: well hidden, or a plant in the wind")
    if e.wide:
        out.append("what changed is larger than the animal: a shadow, a plant or wet glass may be in it")
    return out


def _duration(minutes: float) -> str:
    whole = round(minutes)
    return f"{whole // 60} h {whole % 60:02d} min" if whole >= 60 else f"{whole} min"
