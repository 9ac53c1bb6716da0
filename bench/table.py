"""The table of judged nights, in Markdown, as docs/measured.md keeps it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bench.seeds import kind_of
from nestwatch.synthetic.scoring import NightScore, Rate, Spread, Summary, summarise


@dataclass(frozen=True, slots=True)
class Judged:
    """One night. `score` is None where the program failed on it; `cpu_s` None where it cannot be counted."""

    scenario: str
    seed: int
    score: NightScore | None
    camera_hours: float
    cpu_s: float | None


def of(rate: Rate) -> str:
    """`5/5`; a dash where there was no case."""
    return f"{rate.hits}/{rate.total}" if rate.total else "–"


def number(value: float | None, *, per: float = 1, digits: int = 1) -> str:
    """A number in units of `per`; a dash for None."""
    return "–" if value is None else f"{value / per:.{digits}f}"


def both(spread: Spread, *, per: float = 1, digits: int = 1) -> str:
    """`median / p90`."""
    if not spread.count:
        return "–"
    return f"{number(spread.median, per=per, digits=digits)} / {number(spread.p90, per=per, digits=digits)}"


def cpu_per_hour(nights: Sequence[Judged]) -> float | None:
    """CPU seconds of the whole command per camera-hour read."""
    known = [(night.cpu_s, night.camera_hours) for night in nights if night.score and night.cpu_s is not None]
    hours = sum(h for _, h in known)
    return sum(cpu for cpu, _ in known) / hours if hours else None


Column = tuple[str, Callable[[Summary], str]]
COLUMNS: tuple[Column, ...] = (
    ("nests found", lambda s: of(s.found)),
    ("called nest", lambda s: of(s.called)),
    ("ranked first", lambda s: of(s.first)),
    ("false nests", lambda s: str(s.false_nests)),
    ("false alarms / camera-night", lambda s: number(s.false_alarms_per_camera_night, digits=2)),
    ("trials right", lambda s: of(s.trials)),
    ("rests right", lambda s: of(s.rests)),
    ("start error, min", lambda s: both(s.start_s, per=60)),
    ("end error, min", lambda s: both(s.end_s, per=60)),
    ("dig start, min", lambda s: both(s.boundaries_s["dig start"], per=60)),
    ("lay start, min", lambda s: both(s.boundaries_s["lay start"], per=60)),
    ("cover start, min", lambda s: both(s.boundaries_s["cover start"], per=60)),
    ("cover end, min", lambda s: both(s.boundaries_s["cover end"], per=60)),
    ("chamber, shells", lambda s: both(s.chamber_shells, digits=2)),
    ("chamber, cm", lambda s: both(s.chamber_cm)),
    ("inside claimed radius", lambda s: of(s.held)),
)


def row(name: str, nights: Sequence[Judged]) -> list[str]:
    """The cells of one scenario, or of all together."""
    scores = [night.score for night in nights if night.score]
    failed = len(nights) - len(scores)
    ran = str(len(scores)) + (f" ({failed} failed)" if failed else "")
    summary = summarise(scores)
    return [name, ran, *(cell(summary) for _, cell in COLUMNS), number(cpu_per_hour(nights))]


def turned(rows: Sequence[Sequence[str]]) -> str:
    """Markdown with the rows as columns: few scenarios, many numbers."""
    lines = ["| " + " | ".join(cells) + " |" for cells in zip(*rows, strict=True)]
    return "\n".join([lines[0], "|" + " --- |" * len(rows), *lines[1:]])


def sentences(nights: Sequence[Judged]) -> list[str]:
    """What the table means, in words, with the exact interval of the recall."""
    summary = summarise([night.score for night in nights if night.score])
    failed = [f"{night.scenario}-{night.seed}" for night in nights if night.score is None]
    lines = [f"Could not be run: {', '.join(failed)} (see log.txt of each)."] if failed else []
    for what, rate in (("found", summary.found), ("ranked first", summary.first)):
        if rate.low is not None and rate.high is not None:
            interval = f"exact 95 % interval {100 * rate.low:.0f}–{100 * rate.high:.0f} %"
            lines.append(f"Nests {what}: {of(rate)} ({interval}).")
    lines.append(f"Nests called where there was none: {summary.false_nests}.")
    lines.append(
        f"Nests within the published collar rule (onset 15 min, offset 15 min or half): {of(summary.timed)}."
    )
    return lines


def report(nights: Sequence[Judged]) -> str:
    """The whole printed answer. Pairs of numbers are median / 90th percentile over true nests."""
    scenarios = list(dict.fromkeys(night.scenario for night in nights))
    seeds = tuple(sorted({night.seed for night in nights}))
    head = ["", "nights run", *(name for name, _ in COLUMNS), "CPU s / camera-hour"]
    rows = [row(name, [night for night in nights if night.scenario == name]) for name in scenarios]
    lines = [f"{kind_of(seeds).capitalize()}: {', '.join(map(str, seeds))}. Pairs are median / p90.", ""]
    return "\n".join([*lines, turned([head, *rows, row("all", nights)]), "", *sentences(nights)])
