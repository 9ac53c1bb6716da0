"""Stands in for the command: `night SITE --date D --out DIR` answers with the night file beside the site."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path


def main() -> int:
    """Copies `answer.json`; exit code 1 where there is none. Counts its runs in `runs.txt` two folders up."""
    job, site, _, date, _, out = sys.argv[1:]
    folder = Path(site).parent
    with (folder.parent / "runs.txt").open("a", encoding="utf-8") as runs:
        runs.write(f"{job} {date}\n")
    if not (folder / "answer.json").exists():
        print("no recording in this night", file=sys.stderr)
        return 1
    Path(out).mkdir(parents=True)
    shutil.copyfile(folder / "answer.json", Path(out) / "night.json")
    # Work that can be counted, in case the machine's clock of CPU seconds is coarse.
    sum(i * i for i in range(3_000_000))
    return 0


if __name__ == "__main__":
    sys.exit(main())
