"""`python dev.py reliability`: does the likelihood mean what it says?

Takes every entry of every judged night that `dev.py nights` and `dev.py bad-nights` stored, asks the truth
whether eggs lay there, and compares: the Brier score, and the share that held eggs among entries of about the
same likelihood, printed and drawn as docs/pictures/reliability.png, by the code that does it for a keeper's
finds (`nestwatch/season/fit`). The nights are invented.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from bench.judge import DONE, OURS, ROOT, STORE, read_json
from bench.records import nights_of_method
from bench.seeds import HARD_JUDGING, JUDGED_BEFORE, JUDGING
from nestwatch.season.fit.records import Bin, Entries
from nestwatch.season.fit.reliability import Panel, bins, brier, diagram
from nestwatch.synthetic.likely import likelihoods
from nestwatch.writing import staged

PICTURE = ROOT / "docs" / "pictures" / "reliability.png"


def stored_entries(store: Path, seeds: Iterable[int]) -> Entries:
    """All entries of the stored nights with these seeds, as `entries_of` takes them."""
    return entries_of([read_json(path) for path in sorted(store.glob(f"*/{OURS}.json"))], seeds)


def entries_of(records: Iterable[Mapping[str, Any]], seeds: Iterable[int]) -> Entries:
    """All entries of records with these seeds; quiet nights for the cost are left out."""
    wanted = set(seeds)
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


def table(parts: Sequence[Bin]) -> str:
    """The bins in Markdown, with the exact 95 % interval of the share."""
    lines = ["| likelihood said | held eggs | share | exact 95 % interval |", "| --- | --- | --- | --- |"]
    for part in parts:
        low, high = part.interval
        interval = f"{100 * low:.0f}–{100 * high:.0f} %"
        counts = f"{part.held}/{part.total} | {100 * part.share:.0f} %"
        lines.append(f"| {100 * part.claimed:.0f} % | {counts} | {interval} |")
    return "\n".join(lines)


def draw(parts: Sequence[Bin]) -> bytes:
    """The reliability diagram as a PNG file."""
    return diagram([Panel("Invented nights", parts)])


def main(words: Sequence[str] | None = None) -> int:
    """Print and draw. 1 where no judged night is stored."""
    parser = argparse.ArgumentParser(prog="dev.py reliability", description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--seeds", nargs="+", type=int, help="Seeds; default: those that judge.")
    parser.add_argument("--picture", type=Path, default=PICTURE, help="Where to draw it.")
    parser.add_argument("--method", type=int, help="Take what bench/records keeps of that earlier METHOD.")
    wanted = parser.parse_args(words)
    if wanted.method is None:
        entries = stored_entries(STORE, wanted.seeds or (*JUDGING, *HARD_JUDGING))
    else:
        judged = wanted.seeds or JUDGED_BEFORE.get(wanted.method, HARD_JUDGING)
        entries = entries_of(nights_of_method(wanted.method), judged)
    if not len(entries.eggs):
        print(
            "no judged night with an entry is stored; run dev.py nights or bad-nights first", file=sys.stderr
        )
        return 1
    parts = bins(entries.likelihood, entries.eggs)
    score = brier(entries.likelihood, entries.eggs)
    always = brier(np.full(len(entries.eggs), entries.eggs.mean()), entries.eggs)
    print(f"{len(entries.eggs)} entries of {entries.nights} nights; {entries.eggs.sum()} held eggs.")
    print(f"\n{table(parts)}")
    print(f"\nBrier score {score:.3f} (0 is perfect; always saying the share itself: {always:.3f}).")
    with staged(wanted.picture) as fresh:
        fresh.write_bytes(draw(parts))
    return 0


if __name__ == "__main__":
    sys.exit(main())
