"""`python dev.py nights`: judge the main job on invented nights and print the table of docs/measured.md.

For every scenario and seed: render the night, run `nestwatch night` on it as a keeper would (a command in a
process of its own), keep its night file beside the truth, and score the two. A night is rendered again only
when its scenario or the renderer changed, and run again only when the program changed as well.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import multiprocessing
import os
import shutil
import sys
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bench.seeds import FIRST_SET, JUDGING
from bench.table import Judged, report
from bench.usage import NESTWATCH, measured, quiet_environment
from nestwatch.synthetic.scoring import score_night

ROOT = Path(__file__).resolve().parents[1]
STORE = ROOT / "build" / "nights"
JUDGES = {"scoring.py", "matching.py"}  # they do not change what is rendered
DONE = (0, 3)  # done, and done though some footage could not be read


@dataclass(frozen=True, slots=True)
class Rendered:
    """A night on disk: `site` file, `date` (ISO) and `truth` file."""

    site: Path
    date: str
    truth: Path


@dataclass(frozen=True, slots=True)
class Job:
    """One night to judge. `render(scenario, seed, folder)` makes it, `command` runs the program."""

    scenario: str
    seed: int
    store: Path
    keep: bool
    render: Callable[[str, int, Path], Rendered]
    command: tuple[str, ...] = NESTWATCH

    @property
    def folder(self) -> Path:
        """Where everything about this night is kept."""
        return self.store / f"{self.scenario}-{self.seed}"


def render(scenario: str, seed: int, folder: Path) -> Rendered:
    """Render with the project's own renderer."""
    from nestwatch.synthetic import load_scenario, render_night

    loaded = load_scenario(scenario)
    site = render_night(loaded, folder, seed=seed)
    return Rendered(site, loaded.night.date.isoformat(), folder / "truth.json")


# Keys ------------------------------------------------------------------------------------------------


def digest(paths: Iterable[Path]) -> str:
    """One hash over names and contents of files."""
    total = hashlib.sha256()
    for path in sorted(paths):
        total.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return total.hexdigest()


def render_key(scenario: str) -> str:
    """Changes when the scenario's file or the renderer does."""
    sources = [p for p in (ROOT / "nestwatch" / "synthetic").rglob("*.py") if p.name not in JUDGES]
    return digest([*sources, *(ROOT / "samples" / "synthetic").glob(f"{scenario}.toml")])


def run_key(scenario: str) -> str:
    """Changes when the night or the program that looks at it does."""
    sources = [p for p in (ROOT / "nestwatch").rglob("*.py") if p.parent.name != "synthetic"]
    return render_key(scenario) + digest(sources)


def read_json(path: Path) -> dict[str, Any]:
    """A stored record; empty where there is none."""
    if not path.exists():
        return {}
    stored: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return stored


def write_json(path: Path, record: dict[str, Any]) -> None:
    """Write a record so that a kill leaves the old one or the new one."""
    fresh = path.with_suffix(".new")
    fresh.write_text(json.dumps(record, indent=1), encoding="utf-8")
    os.replace(fresh, path)


# One night -------------------------------------------------------------------------------------------


def rendered_night(job: Job) -> Rendered:
    """The night on disk, rendered now unless the same one is there already."""
    folder, key = job.folder / "rendered", render_key(job.scenario)
    note = job.folder / "rendered.json"
    stored = read_json(note)
    if stored.get("key") == key and folder.exists():
        return Rendered(folder / stored["site"], stored["date"], folder / stored["truth"])
    note.unlink(missing_ok=True)
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    night = job.render(job.scenario, job.seed, folder)
    site, truth = night.site.relative_to(folder).as_posix(), night.truth.relative_to(folder).as_posix()
    write_json(note, {"key": key, "site": site, "date": night.date, "truth": truth})
    return night


def judge(job: Job) -> dict[str, Any]:
    """The record of one night: made now, or the stored one where nothing changed since."""
    record = job.folder / "judged.json"
    key = run_key(job.scenario)
    stored = read_json(record)
    if stored.get("key") == key and stored["code"] in DONE:
        return stored
    night = rendered_night(job)
    out = job.folder / "out"
    shutil.rmtree(out, ignore_errors=True)
    used = measured(
        [*job.command, "night", str(night.site), "--date", night.date, "--out", str(out)],
        log=job.folder / "log.txt",
    )
    fresh = {
        "key": key,
        "scenario": job.scenario,
        "seed": job.seed,
        "code": used.code,
        "cpu_s": used.cpu_s,
        "wall_s": used.wall_s,
        "truth": read_json(night.truth),
        "night": next((read_json(path) for path in sorted(out.rglob("night.json"))), {}),
    }
    write_json(record, fresh)
    if not job.keep and used.code in DONE:
        shutil.rmtree(job.folder / "rendered")
    return fresh


# All of them -----------------------------------------------------------------------------------------


def judge_all(jobs: Sequence[Job], *, workers: int) -> list[dict[str, Any]]:
    """Judge the nights in parallel, telling on stderr as they finish; in the order of `jobs`."""
    records: dict[Job, dict[str, Any]] = {}
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=context) as pool:
        waiting = {pool.submit(judge, job): job for job in jobs}
        for done in as_completed(waiting):
            job = waiting[done]
            records[job] = done.result()
            told = f"{len(records)}/{len(jobs)} {job.folder.name}: exit {records[job]['code']}"
            print(told, file=sys.stderr, flush=True)
    return [records[job] for job in jobs]


def judged(record: dict[str, Any]) -> Judged:
    """What the table needs of a record. A night that failed has no score."""
    ran = record["code"] in DONE and record["night"]
    hours = sum(part["seconds_read"] for part in record["night"]["footage"]) / 3600 if ran else 0.0
    score = score_night(record["truth"], record["night"]) if ran else None
    return Judged(record["scenario"], record["seed"], score, hours, record["cpu_s"])


def arguments(words: Sequence[str] | None) -> argparse.Namespace:
    """The command line of `dev.py nights`."""
    parser = argparse.ArgumentParser(prog="dev.py nights", description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--scenarios", nargs="+", default=list(FIRST_SET), help="Scenario names.")
    parser.add_argument("--seeds", nargs="+", type=int, default=list(JUDGING), help="Seeds of each.")
    parser.add_argument("--jobs", type=int, default=min(2, os.cpu_count() or 1), help="Nights at a time.")
    parser.add_argument("--keep", action="store_true", help="Keep the rendered recordings.")
    return parser.parse_args(words)


def main(words: Sequence[str] | None = None, *, make: Callable[[str, int, Path], Rendered] = render) -> int:
    """Judge, print the table. 0 when every night could be run, however well; else 1."""
    wanted = arguments(words)
    quiet_environment()
    jobs = [Job(name, seed, STORE, wanted.keep, make) for name in wanted.scenarios for seed in wanted.seeds]
    nights = [judged(record) for record in judge_all(jobs, workers=wanted.jobs)]
    print(report(nights))
    return int(any(night.score is None for night in nights))


if __name__ == "__main__":
    sys.exit(main())
