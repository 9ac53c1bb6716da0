"""`python dev.py fit-likelihood`: fit the likelihood on building nights, for `nesting/evidence.py`.

Platt scaling over the stored nights with building seeds, by the same code that `nestwatch fit` uses on a
keeper's finds (`nestwatch/season/fit/scale.py`): the logit z that the night file's likelihood stands for
becomes a z + b. Whether that helps is told by nights left out, never by the nights they were fitted on.
Two numbers are in force already: multiply the slopes; the new offset is the second slope times the first
offset, and its own.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from bench.judge import STORE
from bench.reliability import stored_entries
from bench.seeds import BUILDING
from nestwatch.season.fit.reliability import brier
from nestwatch.season.fit.scale import FOLDS, fit, left_out


def main(words: Sequence[str] | None = None) -> int:
    """Print the two numbers and the Brier scores. 1 where too few building nights are stored."""
    parser = argparse.ArgumentParser(prog="dev.py fit-likelihood", description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--seeds", nargs="+", type=int, default=list(BUILDING), help="Seeds to fit on.")
    entries = stored_entries(STORE, parser.parse_args(words).seeds)
    if len(set(entries.night.tolist())) < FOLDS or len(set(entries.eggs.tolist())) < 2:
        print(
            "too few building nights are stored; run dev.py nights or bad-nights with --seeds",
            file=sys.stderr,
        )
        return 1
    scale = fit(entries.likelihood, entries.eggs)
    given = left_out(entries.likelihood, entries.eggs, entries.night)
    before, after = (brier(p, entries.eggs) for p in (entries.likelihood, given))
    print(f"{len(entries.eggs)} entries of {entries.nights} building nights; {entries.eggs.sum()} held eggs.")
    print(f"log odds = {scale.slope:.3f} * z {scale.offset:+.3f}")
    print(f"Brier score as it is {before:.4f}; with nights left out, fitted {after:.4f}.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
