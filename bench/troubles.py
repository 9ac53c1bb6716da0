"""Whether a night file says what was wrong that night, and nothing else: health, gaps, clocks, raids. Pure.

A trouble of the truth is *told* where an entry that may mean it shares time with it. An entry is *false*
unless something in the truth that could have caused it was there for half of its time.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from nestwatch.synthetic.reading import Span, span_of

SHOWS: Mapping[str, frozenset[str]] = {
    "fog": frozenset({"fogged", "blurred"}),
    "web": frozenset({"covered", "glare", "burnt"}),
    "nudge": frozenset({"moved"}),
    "sag": frozenset({"sagged"}),
}
"""What must be said of a disturbance."""
EXCUSES: Mapping[str, frozenset[str]] = {
    "fog": frozenset({"covered"}),
    "rain": frozenset({"covered", "fogged", "blurred"}),
    "dew": frozenset({"covered", "fogged", "blurred"}),
    "sparkle": frozenset({"covered", "fogged", "blurred"}),
    "lamp": frozenset({"glare", "burnt"}),
    "person": frozenset({"covered"}),
}
"""What may be said of a disturbance besides: fog comes in banks; drops, flakes and a film of dew hide
and blur."""
VISITORS = frozenset({"raider", "person", "larger_animal"})
CLOCK_S = 5.0
_NEAR_S = 120.0
"""How far off a disturbance's time an entry may be and still mean it: a knock is told to the half minute."""


@dataclass(frozen=True, slots=True)
class Troubles:
    """`told` of `real` troubles; `false`: what was said without cause, one word each, in the file's order."""

    told: int
    real: int
    false: tuple[str, ...]


def troubles(truth: Mapping[str, Any], night: Mapping[str, Any]) -> Troubles:
    """Compare a night file with the truth it was rendered from."""
    parts = [_health(truth, night), _gaps(truth, night), _clocks(truth, night), _raids(truth, night)]
    return together(parts)


def together(parts: Iterable[Troubles]) -> Troubles:
    """The sum of several."""
    known = list(parts)
    return Troubles(
        sum(part.told for part in known),
        sum(part.real for part in known),
        tuple(word for part in known for word in part.false),
    )


def _health(truth: Mapping[str, Any], night: Mapping[str, Any]) -> Troubles:
    said = [
        (entry["what"], span_of(entry)) for account in night["footage"] for entry in account.get("health", ())
    ]
    real = [(n["kind"], span_of(n)) for n in truth.get("nuisances", ())]
    due = [(SHOWS[kind], span) for kind, span in real if kind in SHOWS]
    may = [(SHOWS.get(kind, frozenset()) | EXCUSES.get(kind, frozenset()), span) for kind, span in real]
    told = sum(any(what in words and _meet(at, span) for what, at in said) for words, span in due)
    false = [what for what, at in said if not any(what in words and _mostly(at, span) for words, span in may)]
    return Troubles(told, len(due), tuple(false))


def _gaps(truth: Mapping[str, Any], night: Mapping[str, Any]) -> Troubles:
    """Gaps of the truth; what else was not recorded follows from when a recording begins and ends."""
    due = [span_of(gap) for gap in truth.get("gaps", ())]
    said = [span_of(gap) for account in night["footage"] for gap in account.get("gaps", ())]
    told = sum(any(_common(gap, at) > 0.9 * (gap[1] - gap[0]) for at in said) for gap in due)
    return Troubles(told, len(due), ())


def _clocks(truth: Mapping[str, Any], night: Mapping[str, Any]) -> Troubles:
    due = dict(_apart(truth, [account["camera"] for account in night["footage"]]))
    said = list(_said_apart(night))
    told = {pair for pair, ahead in said if pair in due and abs(ahead - due[pair]) <= CLOCK_S}
    return Troubles(len(told), len(due), tuple("clock" for pair, _ in said if pair not in told))


def _apart(truth: Mapping[str, Any], cameras: Sequence[str]) -> Iterator[tuple[tuple[str, str], float]]:
    """Pairs of cameras whose clocks differ by more than `CLOCK_S`, with how far the first is ahead."""
    ahead = truth.get("clock_ahead_s", {})
    for pair in combinations(sorted(set(cameras)), 2):
        apart = float(ahead.get(pair[0], 0) - ahead.get(pair[1], 0))
        if abs(apart) > CLOCK_S:
            yield pair, apart


def _said_apart(night: Mapping[str, Any]) -> Iterator[tuple[tuple[str, str], float]]:
    """What the night file complains of; a smaller difference is a figure in it, and no complaint."""
    for entry in night.get("clocks", ()):
        pair, ahead = (entry["camera"], entry["other"]), float(entry["ahead_s"])
        if abs(ahead) > CLOCK_S:
            yield (pair, ahead) if pair[0] < pair[1] else (pair[::-1], -ahead)


def _raids(truth: Mapping[str, Any], night: Mapping[str, Any]) -> Troubles:
    due = [span_of(e) for animal in truth.get("animals", ()) for e in animal["events"] if e["kind"] == "raid"]
    visits = [span_of(n) for n in truth.get("nuisances", ()) if n["kind"] in VISITORS]
    said = [span_of(raid) for raid in night.get("raids", ())]
    told = sum(any(_meet(at, span) for at in said) for span in due)
    false = sum(not any(_mostly(at, span) for span in [*due, *visits]) for at in said)
    return Troubles(told, len(due), ("raid",) * false)


def _common(a: Span, b: Span) -> float:
    return min(a[1], b[1]) - max(a[0], b[0])


def _meet(a: Span, b: Span) -> bool:
    return _common(a, b) >= -_NEAR_S


def _mostly(said: Span, cause: Span) -> bool:
    padded = cause[0] - _NEAR_S, cause[1] + _NEAR_S
    return _common(said, padded) >= 0.5 * (said[1] - said[0])
