"""`python dev.py bad-nights`: judge the families of bad nights, each with and without a dig, in one table.

Every family is a scenario in `samples/synthetic/hard`. Its nights are rendered, watched by `nestwatch night`
and by the obvious script, scored, and thrown away; the records stay in `build/nights`, so that a run that was
stopped goes on where it was, and nights in `bench/records` are taken as judged. What a bad night costs is set
against quiet nights of the same pictures on the same machine.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from bench.bad_table import FamilyNight, report
from bench.judge import STORE, Job, Rendered, as_stored, judge_all, judged, render
from bench.obvious import VARIANTS
from bench.records import of_method, pack, unpack
from bench.seeds import HARD_JUDGING, JUDGED_BEFORE
from bench.table import Judged, cpu_per_hour
from bench.troubles import troubles
from bench.usage import quiet_environment
from nestwatch.synthetic import Scenario, load_scenario
from nestwatch.synthetic.scenario import SAMPLES, choose

TWIN = "no-dig"
QUIET = "quiet"
Record = Mapping[str, Any]


def families() -> list[str]:
    """The names of all families of bad nights, such as `hard/fog`."""
    return [f"hard/{path.stem}" for path in sorted((SAMPLES / "hard").glob("*.toml"))]


def size_of(scenario: Scenario) -> str:
    """What the cost of an hour's watching hangs on: how it is recorded, and by how many cameras."""
    return f"{scenario.video.model_dump_json()} {len(scenario.camera)}"


def quiet_overrides(scenario: Scenario) -> str:
    """JSON that leaves of a night one plain nest at the hour of its first event, and no disturbance."""
    hours = [event.at for animal in scenario.animal for event in animal.event if event.at is not None]
    event = {"kind": "nest", "at": [f"{at:%H:%M}" for at in hours[0]]} if hours else {"kind": "pass"}
    plain = {"animal": [{"name": "F1", "event": [event]}], "nuisance": [], "gap": []}
    return json.dumps({**plain, "pen": {}}, sort_keys=True)


def quiet_jobs(nights: Sequence[Job]) -> dict[tuple[int, str], Job]:
    """One quiet night for every seed and size (`size_of`) among the nights."""
    found: dict[tuple[int, str], Job] = {}
    for night in nights:
        scenario = chosen(night)
        if (night.seed, size_of(scenario)) not in found:
            found[night.seed, size_of(scenario)] = Job(
                night.scenario,
                night.seed,
                night.store,
                night.keep,
                night.render,
                night.command,
                variant=QUIET,
                overrides=quiet_overrides(scenario),
            )
    return found


def chosen(job: Job) -> Scenario:
    """The scenario as this seed plays it."""
    return choose(load_scenario(job.scenario), job.seed)


def nights_of(
    names: Sequence[str],
    seeds: Sequence[int],
    *,
    twins: Sequence[int],
    keep: bool,
    rivals: Sequence[str],
    make: Callable[[Job, Path], Rendered],
) -> list[Job]:
    """Every family with every seed; first with its digs, then without them for the seeds in `twins`.

    Seed by seed, so that a run that is cut short has seen every family.
    """
    without = json.dumps({"digging": False})
    wanted = [(seed, "", "{}") for seed in seeds]
    wanted += [(seed, TWIN, without) for seed in seeds if seed in twins]
    return [
        Job(name, seed, STORE, keep, make, variant=variant, overrides=overrides, rivals=tuple(rivals))
        for seed, variant, overrides in wanted
        for name in names
    ]


def quiet_rates(quiet: Mapping[tuple[int, str], Record]) -> dict[tuple[str, str | None], float]:
    """CPU seconds per camera-hour of quiet nights by their size and the machine that watched them, None where
    it is not known.

    `quiet`: records by seed and size. Nights that failed or cannot be counted are left out.
    """
    spent: dict[tuple[str, str | None], list[Judged]] = {}
    for (_, size), record in quiet.items():
        spent.setdefault((size, record.get("machine")), []).append(judged(record))
    rates = {which: cpu_per_hour(nights) for which, nights in spent.items()}
    return {which: rate for which, rate in rates.items() if rate}


def family_night(job: Job, record: Record, rates: Mapping[tuple[str, str | None], float]) -> FamilyNight:
    """What the table needs of one night. `rates`: what quiet nights cost, by size and machine."""
    return FamilyNight(
        family=job.scenario.removeprefix("hard/"),
        seed=job.seed,
        twin=job.variant == TWIN,
        ours=judged(record),
        rivals={rival: judged(record, rival=rival) for rival in job.rivals},
        troubles=troubles(record["truth"], record["night"]) if record["night"] else None,
        quiet_rate=rates.get((size_of(chosen(job)), record.get("machine"))),
    )


def arguments(words: Sequence[str] | None) -> argparse.Namespace:
    """The command line of `dev.py bad-nights`."""
    parser = argparse.ArgumentParser(prog="dev.py bad-nights", description=(__doc__ or "").split("\n")[0])
    every = [name.removeprefix("hard/") for name in families()]
    parser.add_argument(
        "--families", nargs="+", default=every, choices=every, metavar="NAME", help="Families."
    )
    parser.add_argument("--seeds", nargs="+", type=int, help="Seeds of each; default: those that judge.")
    parser.add_argument(
        "--twins", nargs="*", type=int, help="Seeds judged without their digs too; default: all."
    )
    parser.add_argument("--jobs", type=int, default=min(2, os.cpu_count() or 1), help="Nights at a time.")
    parser.add_argument("--keep", action="store_true", help="Keep recordings and reports.")
    parser.add_argument(
        "--obvious",
        nargs="*",
        default=list(VARIANTS),
        choices=VARIANTS,
        help="Variants of the script to run.",
    )
    parser.add_argument("--stored", action="store_true", help="Print what is stored; render and run nothing.")
    parser.add_argument("--method", type=int, help="Print what bench/records keeps of that earlier METHOD.")
    parser.add_argument("--pack", action="store_true", help="Keep the records in bench/records as well.")
    return parser.parse_args(words)


def records_of(jobs: Sequence[Job], wanted: argparse.Namespace) -> list[dict[str, Any]]:
    """The jobs' records: kept of an earlier method, stored, or judged now."""
    if wanted.method is not None:
        return of_method(jobs, wanted.method)
    unpack(jobs)
    return [as_stored(job) for job in jobs] if wanted.stored else judge_all(jobs, workers=wanted.jobs)


def main(words: Sequence[str] | None = None, *, make: Callable[[Job, Path], Rendered] = render) -> int:
    """Judge, print the table. 0 when every night could be run, however well; else 1."""
    wanted = arguments(words)
    quiet_environment()
    names = [f"hard/{name}" for name in wanted.families]
    seeds = wanted.seeds or JUDGED_BEFORE.get(wanted.method, HARD_JUDGING)
    twins = seeds if wanted.twins is None else wanted.twins
    nights = nights_of(names, seeds, twins=twins, keep=wanted.keep, rivals=wanted.obvious, make=make)
    quiet = quiet_jobs(nights)
    jobs = [*nights, *quiet.values()]
    records = records_of(jobs, wanted)
    rates = quiet_rates(dict(zip(quiet, records[len(nights) :], strict=True)))
    if wanted.pack:
        pack(jobs)
    told = [
        family_night(job, record, rates) for job, record in zip(nights, records[: len(nights)], strict=True)
    ]
    print(report(told))
    return int(any(night.ours.score is None for night in told))


if __name__ == "__main__":
    sys.exit(main())
