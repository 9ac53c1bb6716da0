"""`python dev.py bench`: what a camera-hour costs, against two yardsticks measured in the same run.

Prints CPU seconds per camera-hour, ratios, the peak memory of the largest process and the growth with the
night's length, each beside what it should reach. A miss is printed as a miss; nothing fails because of it.
"""

from __future__ import annotations

import argparse
import json
import shutil
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bench import recording
from bench.usage import NESTWATCH, Usage, measured, quiet_environment

STORE = Path(__file__).resolve().parents[1] / "build" / "bench"
KEY_FRAME_SHARE = 1.25
PER_CANDIDATE_S = 20.0
OBVIOUS_RATIO = 45.0
PEAK_MB = 1024.0
# Set-up of the process and its libraries does not grow; what is left may waver with the machine's load.
LINEAR_WITHIN = 0.15


@dataclass(frozen=True, slots=True)
class Run:
    """`nestwatch night` over `hours`: CPU seconds, peak MiB of its largest process, entries listed."""

    hours: int
    cpu_s: float
    peak_mb: float
    candidates: int


def counted(name: str, used: Usage) -> tuple[float, float]:
    """CPU seconds and peak MiB of a command that must have worked."""
    if used.code:
        raise SystemExit(f"bench: {name} failed (exit code {used.code}):\n{used.stderr[-2000:]}")
    if used.cpu_s is None or used.peak_mb is None:
        raise SystemExit(
            "bench: this system does not count CPU seconds of commands; run it on Linux or macOS."
        )
    return used.cpu_s, used.peak_mb


def yardstick(name: str, path: Path) -> float:
    """CPU seconds of `bench.decode` per hour of recording; measured on `path` and scaled to an hour."""
    cpu, _ = counted(name, measured([sys.executable, "-m", "bench.decode", name, str(path)]))
    return cpu * 3600 / recording.seconds(path)


def night(source: Path, hours: int) -> Run:
    """Run the main job on a night of that many hours, from nothing."""
    site = recording.night(STORE, source, hours=hours)
    out = site.parent / "out"
    words = ["night", str(site), "--date", recording.START.date().isoformat(), "--out", str(out)]
    cpu, peak = counted("nestwatch night", measured([*NESTWATCH, *words], log=site.parent / "log.txt"))
    document = json.loads(next(out.rglob("night.json")).read_text(encoding="utf-8"))
    read = sum(part["seconds_read"] for part in document["footage"])
    if abs(read - 3600 * hours) > 60:
        raise SystemExit(f"bench: only {read:.0f} s of {hours} h were read; see {site.parent / 'log.txt'}.")
    shutil.rmtree(site.parent / "footage")
    return Run(hours, cpu, peak, len(document["digs"]))


# Words -----------------------------------------------------------------------------------------------


def verdict(value: float, limit: float, *, most: bool) -> str:
    """`reached` or `MISSED`; `most` says that the limit is the most allowed, else the least."""
    return "reached" if (value <= limit if most else value >= limit) else "MISSED"


def about_cost(keys: float, obvious: float, run: Run) -> list[str]:
    """Cost of one hour against the yardsticks."""
    cost = run.cpu_s / run.hours
    allowed = KEY_FRAME_SHARE * keys + PER_CANDIDATE_S * run.candidates / run.hours
    ratio = obvious / cost
    return [
        f"decode of the key frames visited, alone : {keys:8.1f} CPU s per camera-hour",
        f"nestwatch night, everything             : {cost:8.1f} CPU s per camera-hour, "
        f"{run.candidates} candidates in {run.hours} h",
        f"MOG2 on every frame                     : {obvious:8.1f} CPU s per camera-hour "
        f"(measured on {recording.MINUTES} min, scaled)",
        f"everything / key frames = {cost / keys:.2f}; with {PER_CANDIDATE_S:.0f} CPU s per candidate "
        f"{allowed:.1f} CPU s are allowed: {verdict(cost, allowed, most=True)}",
        f"MOG2 / everything = {ratio:.1f}; wanted {OBVIOUS_RATIO:.0f}: "
        f"{verdict(ratio, OBVIOUS_RATIO, most=False)}",
    ]


def about_growth(runs: Sequence[Run]) -> list[str]:
    """Memory of the longest night, and whether hours cost the same in long nights as in short ones."""
    lines = [f"{run.hours:3d} h: {run.cpu_s:8.1f} CPU s, peak {run.peak_mb:6.0f} MiB" for run in runs]
    first, last = runs[0], runs[-1]
    peak = verdict(last.peak_mb, PEAK_MB, most=True)
    lines.append(f"largest process, {last.hours} h: {last.peak_mb:.0f} MiB; allowed {PEAK_MB:.0f}: {peak}")
    if len(runs) > 1:
        growth = (last.cpu_s / last.hours) / (first.cpu_s / first.hours)
        linear = verdict(growth, 1 + LINEAR_WITHIN, most=True)
        lines.append(
            f"an hour of {last.hours} costs {growth:.2f} times an hour of {first.hours}; "
            f"allowed {1 + LINEAR_WITHIN:.2f}: {linear}"
        )
    return lines


def main(words: Sequence[str] | None = None) -> int:
    """Measure and print. 0 whatever was reached."""
    parser = argparse.ArgumentParser(prog="dev.py bench", description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--hours", nargs="+", type=int, default=[1, 4, 14], help="Lengths of the nights.")
    hours = sorted(parser.parse_args(words).hours)
    quiet_environment()
    whole = recording.hour(STORE)
    size, every = f"{recording.WIDTH}x{recording.HEIGHT}", recording.KEY_S
    print(f"{size}, {recording.FPS} fps, H.264, a key frame every {every} s")
    keys, obvious = yardstick("keys", whole), yardstick("mog2", recording.minutes(STORE, animal=True))
    runs = []
    for length in hours:
        runs.append(night(whole, length))
        print(f"{length} h done", file=sys.stderr, flush=True)
    print("\n".join([*about_cost(keys, obvious, runs[0]), *about_growth(runs)]))
    return 0


if __name__ == "__main__":
    sys.exit(main())
