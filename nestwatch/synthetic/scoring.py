"""Scores a night file against the truth of an invented night. Pure: dictionaries in, records out.

Every stay of the night file (`digs`, which includes the calls `rest`) is matched one to one with a true event
where they share time and the place lies within a few shell lengths (see `matching`). Errors are signed, found
minus true. None means that the number does not exist: no pair, a stage not told, a place without a plan.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import hypot
from typing import Any

import numpy as np

from nestwatch.shares import exact_interval
from nestwatch.synthetic.matching import Counts, assign, collar_counts, overlap
from nestwatch.synthetic.reading import Found, Point, Span, TrueEvent, read_found, read_truth

COMPANY = ("follow", "sit")
"""Kinds of animals that stay near others or on one spot for hours and never dig."""
BOUNDARIES = ("dig start", "lay start", "cover start", "cover end")


@dataclass(frozen=True, slots=True)
class Rules:
    """How generous the score is. `gate_shells`: how far from the true chamber, in shell lengths, a stay may
    lie and still be about the same event. `collar_s`, `offset_share`: see `matching.collar_pairs`. `alarm_s`:
    how far from the true start an alarm may begin (10 s in the i-LIDS trials, whose events last a minute)."""

    gate_shells: float = 2.0
    collar_s: float = 900.0
    offset_share: float = 0.5
    alarm_s: float = 900.0


@dataclass(frozen=True, slots=True)
class EventScore:
    """One true event and what became of it. `call` and `rank` are None where nothing was matched.

    `start_s`, `end_s` and `boundaries_s` (by `BOUNDARIES`) are errors in seconds; `chamber_shells` and
    `chamber_cm` are distances; `held` tells whether the chamber lay within the claimed `within_m`.
    """

    kind: str
    call: str | None = None
    rank: int | None = None
    start_s: float | None = None
    end_s: float | None = None
    boundaries_s: Mapping[str, float | None] | None = None
    chamber_shells: float | None = None
    chamber_cm: float | None = None
    held: bool | None = None


@dataclass(frozen=True, slots=True)
class NightScore:
    """One night: its true nests, trials and rests in order of time, and what was called without cause.

    `false_nests`: entries called nest where no nest was. `false_alarms`: entries that would make a keeper dig
    (any call but rest) where nobody dug; an animal that only sits or follows may also be called unclear, and
    at a raid there is a nest. `nest_times`: nests under the published collar rule. `alarms`: true
    nests, entries that say eggs may lie there (nest or unclear), and pairs of them that begin together.
    """

    events: tuple[EventScore, ...]
    false_nests: int
    false_alarms: int
    cameras: int
    nest_times: Counts
    alarms: Counts

    def of(self, kind: str) -> tuple[EventScore, ...]:
        """The events of one kind: nest, trial or rest."""
        return tuple(event for event in self.events if event.kind == kind)


# Scoring one night -----------------------------------------------------------------------------------


def _apart(a: Point | None, b: Point | None) -> float | None:
    return None if a is None or b is None else hypot(a[0] - b[0], a[1] - b[1])


def _shells_apart(event: TrueEvent, found: Found) -> float | None:
    """Distance in shell lengths in the picture of the entry's camera; None where that camera saw nothing."""
    pixels = _apart(event.chamber_px.get(found.camera), found.pixel)
    return None if pixels is None else pixels / event.shell_px[found.camera]


def is_near(event: TrueEvent, found: Found, gate: float) -> bool:
    """Whether an entry lies within `gate` shell lengths of a true chamber, in the picture of its camera."""
    apart = _shells_apart(event, found)
    return apart is not None and apart <= gate


def pair(events: Sequence[TrueEvent], found: Sequence[Found], *, rules: Rules) -> list[tuple[int, int]]:
    """One-to-one pairs (true, found) that share time and place, the closest in both.

    Animals that only keep a digging one company get what the others leave.
    """
    keeping_company = np.array([event.kind in COMPANY for event in events], bool)
    common = overlap([event.span for event in events], [entry.span for entry in found])
    near = np.array([[_nearness(event, entry, rules.gate_shells) for entry in found] for event in events])
    near = near.reshape(common.shape)
    allowed = (common > 0) & (near >= 0)
    first = assign(allowed & ~keeping_company[:, None], (common + near.clip(0)) / 2)
    left = np.ones(len(found), bool)
    left[[ours for _, ours in first]] = False
    return sorted(first + assign(allowed & keeping_company[:, None] & left, (common + near.clip(0)) / 2))


def _nearness(event: TrueEvent, found: Found, gate: float) -> float:
    """1 at the true place, 0 at `gate` shell lengths from it, negative beyond or where it was not seen."""
    apart = _shells_apart(event, found)
    return -1.0 if apart is None else 1 - apart / gate


def _error(ours: float, true: float, hidden: Sequence[Span]) -> float | None:
    """Seconds found minus true; None where nothing was recorded at the true time."""
    return None if any(first < true < last for first, last in hidden) else ours - true


def is_false_nest(call: str, cause: str) -> bool:
    """Whether a call says nest where there is none; a raided nest is one."""
    return call == "nest" and cause not in ("nest", "raid")


def is_false_alarm(call: str, cause: str) -> bool:
    """Whether a call sends a keeper digging where nobody dug. `cause`: the true event's kind, or nothing."""
    if call == "rest" or cause in ("nest", "trial", "raid"):
        return False
    return call != "unclear" or cause not in COMPANY


def _boundaries(event: TrueEvent, found: Found) -> dict[str, float | None]:
    out: dict[str, float | None] = {}
    for name in BOUNDARIES:
        stage, side = name.split()
        true, ours = event.stages.get(stage), found.stages.get(stage)
        edge = 0 if side == "start" else 1
        out[name] = None if true is None or ours is None else _error(ours[edge], true[edge], event.hidden)
    return out


def _score_pair(event: TrueEvent, found: Found) -> EventScore:
    metres = _apart(event.chamber_m, found.plan_m)
    return EventScore(
        kind=event.kind,
        call=found.call,
        rank=found.rank,
        start_s=_error(found.span[0], event.span[0], event.hidden),
        end_s=_error(found.span[1], event.span[1], event.hidden),
        boundaries_s=_boundaries(event, found),
        chamber_shells=_shells_apart(event, found),
        chamber_cm=None if metres is None else 100 * metres,
        held=None if metres is None or found.within_m is None else metres <= found.within_m,
    )


EVENT_RECORDING = 60.0
"""Recall bias of the i-LIDS trials where a person looks through everything later (from memory)."""


def score_night(
    truth: Mapping[str, Any], night: Mapping[str, Any], *, rules: Rules | None = None
) -> NightScore:
    """Score the dictionary of a `night.json` against that of the `truth.json` it was rendered from."""
    rules = rules or Rules()
    events, found = read_truth(truth), read_found(night)
    partner = dict(pair(events, found, rules=rules))
    cause = {ours: events[true].kind for true, ours in partner.items()}
    calls = [(entry.call, cause.get(j, "nothing")) for j, entry in enumerate(found)]
    return NightScore(
        events=tuple(
            _score_pair(event, found[partner[i]]) if i in partner else EventScore(event.kind)
            for i, event in enumerate(events)
        ),
        false_nests=sum(is_false_nest(call, kind) for call, kind in calls),
        false_alarms=sum(is_false_alarm(call, kind) for call, kind in calls),
        cameras=len({account["camera"] for account in night["footage"]}),
        nest_times=collar_counts(
            [event.seen for event in events if event.kind == "nest"],
            [entry.span for entry in found if entry.call == "nest"],
            collar_s=rules.collar_s,
            offset_share=rules.offset_share,
        ),
        alarms=_alarms(events, found, partner, rules.alarm_s),
    )


def _alarms(
    events: Sequence[TrueEvent], found: Sequence[Found], partner: Mapping[int, int], within_s: float
) -> Counts:
    """Nests against entries called nest or unclear, as the i-LIDS trials counted alarms: one that begins
    `within_s` of its event is right, every other is false (Lohani et al. 2022, doi 10.3390/s22093601,
    describe the rule). Unlike there, the place must fit too."""
    alarms = {j for j, entry in enumerate(found) if entry.call in ("nest", "unclear")}
    nests = [i for i, event in enumerate(events) if event.kind == "nest"]
    right = sum(
        partner.get(i) in alarms and abs(found[partner[i]].span[0] - events[i].seen[0]) <= within_s
        for i in nests
    )
    return Counts(len(nests), len(alarms), right)


# Many nights -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Rate:
    """`hits` of `total`, with the exact (Clopper-Pearson) 95 % interval; None without a case."""

    hits: int
    total: int
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Spread:
    """Median and 90th percentile of absolute errors, and how many there were; None where there was none."""

    median: float | None
    p90: float | None
    count: int


@dataclass(frozen=True, slots=True)
class Summary:
    """Many nights together. `alarms`: those of the nights, summed. `found`: true nests matched with an entry
    that a keeper would dig up (any call but rest). `first`: true nests ranked no lower than the number of
    true nests of their night."""

    nights: int
    found: Rate
    called: Rate
    first: Rate
    trials: Rate
    rests: Rate
    held: Rate
    timed: Rate
    false_nests: int
    false_alarms_per_camera_night: float | None
    start_s: Spread
    end_s: Spread
    boundaries_s: Mapping[str, Spread]
    chamber_shells: Spread
    chamber_cm: Spread
    alarms: Counts


def rate(outcomes: Iterable[bool]) -> Rate:
    """Count outcomes, with the exact interval."""
    known = list(outcomes)
    return Rate(sum(known), len(known), *(exact_interval(sum(known), len(known)) or (None, None)))


def spread(errors: Iterable[float | None]) -> Spread:
    """Median and 90th percentile (linear between ranks) of the errors' sizes; None is left out."""
    known = [abs(error) for error in errors if error is not None]
    if not known:
        return Spread(None, None, 0)
    return Spread(float(np.median(known)), float(np.percentile(known, 90)), len(known))


def is_dig(event: EventScore) -> bool:
    """Whether a keeper reading the list would dig there."""
    return event.call is not None and event.call != "rest"


def is_first(night: NightScore, nest: EventScore) -> bool:
    """Whether a true nest stands among as many first places as the night has nests, as a dig."""
    return is_dig(nest) and nest.rank is not None and nest.rank <= len(night.of("nest"))


def summarise(scores: Sequence[NightScore]) -> Summary:
    """Put nights together. Times and places count nests alone; a rest not listed at all is right."""
    nests = [nest for night in scores for nest in night.of("nest")]
    rests = [rest for night in scores for rest in night.of("rest")]
    cameras = sum(night.cameras for night in scores)
    return Summary(
        nights=len(scores),
        found=rate(is_dig(nest) for nest in nests),
        called=rate(nest.call == "nest" for nest in nests),
        first=rate(is_first(night, nest) for night in scores for nest in night.of("nest")),
        trials=rate(trial.call == "trial" for night in scores for trial in night.of("trial")),
        rests=rate(not is_dig(rest) for rest in rests),
        held=rate(nest.held for nest in nests if nest.held is not None),
        timed=_timed(scores),
        false_nests=sum(night.false_nests for night in scores),
        false_alarms_per_camera_night=sum(night.false_alarms for night in scores) / cameras
        if cameras
        else None,
        start_s=spread(nest.start_s for nest in nests),
        end_s=spread(nest.end_s for nest in nests),
        boundaries_s={name: spread(_edge(nest, name) for nest in nests) for name in BOUNDARIES},
        chamber_shells=spread(nest.chamber_shells for nest in nests),
        chamber_cm=spread(nest.chamber_cm for nest in nests),
        alarms=sum((night.alarms for night in scores), Counts(0, 0, 0)),
    )


def _timed(scores: Sequence[NightScore]) -> Rate:
    """True nests that the published collar rule counts as found, of all true nests."""
    counts = [night.nest_times for night in scores]
    return rate(i < night.matched for night in counts for i in range(night.true))


def _edge(nest: EventScore, name: str) -> float | None:
    return None if nest.boundaries_s is None else nest.boundaries_s[name]
