"""The table of bad nights, in Markdown: a line for each family, ours beside the obvious script's."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from bench.seeds import kind_of
from bench.table import Judged, cpu_per_hour, number, of
from bench.troubles import Troubles, together
from nestwatch.synthetic.scoring import (
    BOUNDARIES,
    EVENT_RECORDING,
    NightScore,
    Spread,
    Summary,
    spread,
    summarise,
)

ALLOWED_RATIO = 2.0


@dataclass(frozen=True, slots=True)
class FamilyNight:
    """One night of a family. `twin`: the same night without a dig. `rivals`: the script's, by variant.

    `quiet_rate`: CPU seconds per camera-hour of quiet nights of the same pictures; `troubles`: what was said
    to be wrong that night; both None where unknown.
    """

    family: str
    seed: int
    twin: bool
    ours: Judged
    rivals: Mapping[str, Judged]
    quiet_rate: float | None
    troubles: Troubles | None = None


Nights = Sequence[FamilyNight]


def scores(nights: Sequence[Judged]) -> list[NightScore]:
    """Those of the nights that could be run."""
    return [night.score for night in nights if night.score]


def ours(nights: Nights, *, twin: bool | None = None) -> list[NightScore]:
    """Our scores of the nights with a dig (`twin` False), without (True), or of both (None)."""
    return scores([night.ours for night in nights if twin is None or night.twin is twin])


def stage_errors(nights: Nights) -> Spread:
    """Errors of all stage boundaries of all nests together, seconds."""
    nests = [nest for night in ours(nights) for nest in night.of("nest")]
    return spread((nest.boundaries_s or {}).get(name) for nest in nests for name in BOUNDARIES)


def ratio(nights: Nights) -> float | None:
    """CPU seconds of the nights over those of as many hours of quiet nights of the same pictures."""
    known = [
        (night.ours.cpu_s, night.ours.camera_hours * night.quiet_rate)
        for night in nights
        if night.ours.score and night.ours.cpu_s is not None and night.quiet_rate
    ]
    quiet = sum(cost for _, cost in known)
    return sum(cpu for cpu, _ in known) / quiet if quiet else None


def median(errors: Spread, *, per: float = 1, digits: int = 1) -> str:
    """The median in units of `per`; a dash where there is none."""
    return number(errors.median, per=per, digits=digits)


def alarm_f(summary: Summary) -> str:
    """The F measure of the i-LIDS trials with the recall bias of event recording."""
    return number(summary.alarms.biased_f(EVENT_RECORDING), digits=2)


def ran(nights: Nights) -> str:
    """How many nights there were, and how many of them could not be run."""
    missing = sum(night.ours.score is None for night in nights)
    return f"{len(nights) - missing} ({missing} failed)" if missing else str(len(nights))


def troubles_told(nights: Nights) -> str:
    """What was wrong with cameras, clocks and nests and was said, of what was wrong; a dash for nothing."""
    every = together(night.troubles for night in nights if night.troubles)
    return f"{every.told}/{every.real}" if every.real else "–"


def false_troubles(nights: Nights) -> str:
    """How often something was said to be wrong that was not, by word."""
    counts = Counter(together(night.troubles for night in nights if night.troubles).false)
    return ", ".join(f"{word} {counts[word]}" for word in sorted(counts)) or "0"


Cell = Callable[[Nights], str]
OURS: tuple[tuple[str, Cell], ...] = (
    ("nights", ran),
    ("nests found", lambda n: of(summarise(ours(n)).found)),
    ("above all else", lambda n: of(summarise(ours(n)).first)),
    ("called nest", lambda n: of(summarise(ours(n)).called)),
    ("trials right", lambda n: of(summarise(ours(n)).trials)),
    ("rests right", lambda n: of(summarise(ours(n)).rests)),
    ("false nests, nights with a dig", lambda n: false_nests(ours(n, twin=False))),
    ("false nests, twins without", lambda n: false_nests(ours(n, twin=True))),
    ("troubles told", troubles_told),
    ("false troubles", false_troubles),
    ("start, min", lambda n: median(summarise(ours(n)).start_s, per=60)),
    ("end, min", lambda n: median(summarise(ours(n)).end_s, per=60)),
    ("stages, min", lambda n: median(stage_errors(n), per=60)),
    ("chamber, cm", lambda n: median(summarise(ours(n)).chamber_cm)),
    ("chamber, shells", lambda n: median(summarise(ours(n)).chamber_shells, digits=2)),
    ("alarm F", lambda n: alarm_f(summarise(ours(n)))),
    ("CPU s / camera-hour", lambda n: number(cpu_per_hour([night.ours for night in n]))),
    ("times quiet", lambda n: number(ratio(n), digits=2)),
)


def false_nests(nights: Sequence[NightScore]) -> str:
    """Entries called nest where none was; a dash without a night."""
    return str(summarise(nights).false_nests) if nights else "–"


def script(variant: str) -> tuple[tuple[str, Cell], ...]:
    """The columns of one variant of the obvious script."""

    def its(nights: Nights) -> list[Judged]:
        return [night.rivals[variant] for night in nights if variant in night.rivals]

    name = f"script ({variant})"
    return (
        (f"{name}: found", lambda n: of(summarise(scores(its(n))).found)),
        (f"{name}: above all else", lambda n: of(summarise(scores(its(n))).first)),
        (f"{name}: false nests", lambda n: false_nests(scores(its(n)))),
        (f"{name}: alarm F", lambda n: alarm_f(summarise(scores(its(n))))),
        (f"{name}: CPU s / camera-hour", lambda n: number(cpu_per_hour(its(n)))),
    )


def columns(nights: Nights) -> tuple[tuple[str, Cell], ...]:
    """Ours, then the variants of the script that were run."""
    variants = sorted({variant for night in nights for variant in night.rivals})
    return (*OURS, *(column for variant in variants for column in script(variant)))


def table(nights: Nights) -> str:
    """A line for each family and one for all together."""
    named = columns(nights)
    names = list(dict.fromkeys(night.family for night in nights))
    parts = [(name, [night for night in nights if night.family == name]) for name in names]
    lines = [["family", *(title for title, _ in named)], ["---"] * (len(named) + 1)]
    lines += [[name, *(cell(part) for _, cell in named)] for name, part in [*parts, ("all", list(nights))]]
    return "\n".join("| " + " | ".join(cells) + " |" for cells in lines)


def sentences(nights: Nights) -> list[str]:
    """What a reader must know beside the table."""
    failed = [f"{n.family}-{n.seed}{' (twin)' if n.twin else ''}" for n in nights if n.ours.score is None]
    lines = [f"Could not be run: {', '.join(failed)}."] if failed else []
    found = summarise(ours(nights)).found
    if found.low is not None and found.high is not None:
        lines.append(
            f"Nests found: {of(found)} (exact 95 % interval {100 * found.low:.0f}–{100 * found.high:.0f} %)."
        )
    worst = ratio(nights)
    if worst is not None:
        said = "within" if worst <= ALLOWED_RATIO else "MISSES"
        lines.append(
            f"A bad night costs {worst:.2f} times a quiet one; {said} the {ALLOWED_RATIO:.0f} allowed."
        )
    return lines


def report(nights: Nights) -> str:
    """The whole printed answer."""
    seeds = tuple(sorted({night.seed for night in nights}))
    head = f"{kind_of(seeds).capitalize()}: {', '.join(map(str, seeds))}. Errors are medians over true nests."
    return "\n".join([head, "", table(nights), "", *sentences(nights)])
