"""`python dev.py reliability`: does the likelihood mean what it says?

Takes every entry of every judged night that `dev.py nights` and `dev.py bad-nights` stored, asks the truth
whether eggs lay there, and compares: the Brier score, and the share that held eggs among entries of about the
same likelihood (scikit-learn's `calibration_curve`), printed and drawn as docs/pictures/reliability.png. The
nights are invented: the numbers stand until the keeper's own finds replace them.
"""

from __future__ import annotations

import argparse
import io
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure
from numpy.typing import NDArray
from sklearn.calibration import calibration_curve
from sklearn.metrics import brier_score_loss

from bench.judge import DONE, OURS, ROOT, STORE, read_json
from bench.seeds import HARD_JUDGING, JUDGING
from nestwatch.synthetic.likely import likelihoods
from nestwatch.synthetic.scoring import rate
from nestwatch.writing import staged

PICTURE = ROOT / "docs" / "pictures" / "reliability.png"
BINS = 10
INK, OURS_COLOUR, FAINT = "#22302a", "#2f6f4f", "#b9c4bd"


@dataclass(frozen=True, slots=True)
class Entries:
    """Entries of many nights: `likelihood` (n,) 0..1, `eggs` (n,) bool, `night` (n,) number of the night.

    `nights`: how many nights there were, with entries or without.
    """

    likelihood: NDArray[np.float64]
    eggs: NDArray[np.bool_]
    night: NDArray[np.int64]
    nights: int


@dataclass(frozen=True, slots=True)
class Bin:
    """Entries of about the same likelihood: mean of what was claimed, how many held eggs, of how many."""

    claimed: float
    held: int
    total: int


def stored_entries(store: Path, seeds: Iterable[int]) -> Entries:
    """All entries of the stored nights with these seeds; quiet nights for the cost are left out."""
    wanted = set(seeds)
    records = [read_json(path) for path in sorted(store.glob(f"*/{OURS}.json"))]
    records = [r for r in records if r["seed"] in wanted and r["code"] in DONE and r["night"]]
    records = [r for r in records if r.get("variant") != "quiet"]
    told = [likelihoods(record["truth"], record["night"]) for record in records]
    flat = [(p, eggs, number) for number, night in enumerate(told) for p, eggs in night]
    return Entries(
        np.array([p for p, _, _ in flat], np.float64),
        np.array([eggs for _, eggs, _ in flat], np.bool_),
        np.array([number for _, _, number in flat], np.int64),
        len(records),
    )


def bins(likelihood: NDArray[np.float64], eggs: NDArray[np.bool_], *, count: int = BINS) -> list[Bin]:
    """Equal steps of likelihood that hold an entry, as scikit-learn's `calibration_curve` cuts them."""
    share, claimed = calibration_curve(eggs, likelihood, n_bins=count, strategy="uniform")
    # calibration_curve does not say how many entries a bin holds; these are its edges.
    edges = np.linspace(0.0, 1.0, count + 1)
    totals = np.bincount(np.searchsorted(edges[1:-1], likelihood), minlength=count)
    filled = totals[totals > 0].tolist()
    parts = zip(claimed.tolist(), share.tolist(), filled, strict=True)
    return [Bin(mean, round(held * total), total) for mean, held, total in parts]


def table(parts: Sequence[Bin]) -> str:
    """The bins in Markdown, with the exact 95 % interval of the share."""
    lines = ["| likelihood said | held eggs | share | exact 95 % interval |", "| --- | --- | --- | --- |"]
    for part in parts:
        share = rate([True] * part.held + [False] * (part.total - part.held))
        interval = f"{100 * (share.low or 0):.0f}–{100 * (share.high or 0):.0f} %"
        counts = f"{part.held}/{part.total} | {100 * part.held / part.total:.0f} %"
        lines.append(f"| {100 * part.claimed:.0f} % | {counts} | {interval} |")
    return "\n".join(lines)


def draw(parts: Sequence[Bin]) -> bytes:
    """The reliability diagram as a PNG file: the same bytes for the same bins."""
    figure = Figure(figsize=(4.6, 4.6), dpi=150, layout="constrained")
    axes = figure.subplots()
    axes.plot([0, 1], [0, 1], color=FAINT, linewidth=1, linestyle="--")
    for part in parts:
        share = rate([True] * part.held + [False] * (part.total - part.held))
        axes.plot([part.claimed] * 2, [share.low or 0.0, share.high or 0.0], color=OURS_COLOUR, linewidth=1)
        axes.annotate(str(part.total), (part.claimed, part.held / part.total), (6, -10), fontsize=8,
                      textcoords="offset points", color=INK)  # fmt: skip
    axes.plot([p.claimed for p in parts], [p.held / p.total for p in parts], "o", color=OURS_COLOUR)
    axes.set(xlim=(-0.03, 1.03), ylim=(-0.03, 1.03), aspect="equal", title="Invented nights")
    axes.set(xlabel="likelihood that was given", ylabel="share that held eggs (bars: exact 95 %)")
    held = io.BytesIO()
    figure.savefig(held, format="png", metadata={"Software": None})
    return held.getvalue()


def main(words: Sequence[str] | None = None) -> int:
    """Print and draw. 1 where no judged night is stored."""
    parser = argparse.ArgumentParser(prog="dev.py reliability", description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--seeds", nargs="+", type=int, default=[*JUDGING, *HARD_JUDGING], help="Seeds.")
    parser.add_argument("--picture", type=Path, default=PICTURE, help="Where to draw it.")
    wanted = parser.parse_args(words)
    entries = stored_entries(STORE, wanted.seeds)
    if not len(entries.eggs):
        print(
            "no judged night with an entry is stored; run dev.py nights or bad-nights first", file=sys.stderr
        )
        return 1
    parts = bins(entries.likelihood, entries.eggs)
    score = brier_score_loss(entries.eggs, entries.likelihood)
    always = brier_score_loss(entries.eggs, np.full(len(entries.eggs), entries.eggs.mean()))
    print(f"{len(entries.eggs)} entries of {entries.nights} nights; {entries.eggs.sum()} held eggs.")
    print(f"\n{table(parts)}")
    print(f"\nBrier score {score:.3f} (0 is perfect; always saying the share itself: {always:.3f}).")
    with staged(wanted.picture) as fresh:
        fresh.write_bytes(draw(parts))
    return 0


if __name__ == "__main__":
    sys.exit(main())
