"""`python dev.py nights`: judge the main job on invented nights and print the table of docs/measured.md.

For every scenario and seed: render the night, run `nestwatch night` on it as a keeper would (a command in a
process of its own), keep its night file beside the truth, and score the two. A night is rendered again only
when its scenario or the renderer changed, and run again only when the program changed as well.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from bench.judge import STORE, Job, Rendered, judge_all, judged, render
from bench.seeds import FIRST_SET, JUDGING
from bench.table import report
from bench.usage import quiet_environment


def arguments(words: Sequence[str] | None) -> argparse.Namespace:
    """The command line of `dev.py nights`."""
    parser = argparse.ArgumentParser(prog="dev.py nights", description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--scenarios", nargs="+", default=list(FIRST_SET), help="Scenario names.")
    parser.add_argument("--seeds", nargs="+", type=int, default=list(JUDGING), help="Seeds of each.")
    parser.add_argument("--jobs", type=int, default=min(2, os.cpu_count() or 1), help="Nights at a time.")
    parser.add_argument("--keep", action="store_true", help="Keep the rendered recordings.")
    return parser.parse_args(words)


def main(words: Sequence[str] | None = None, *, make: Callable[[Job, Path], Rendered] = render) -> int:
    """Judge, print the table. 0 when every night could be run, however well; else 1."""
    wanted = arguments(words)
    quiet_environment()
    jobs = [Job(name, seed, STORE, wanted.keep, make) for name in wanted.scenarios for seed in wanted.seeds]
    nights = [judged(record) for record in judge_all(jobs, workers=wanted.jobs)]
    print(report(nights))
    return int(any(night.score is None for night in nights))


if __name__ == "__main__":
    sys.exit(main())
