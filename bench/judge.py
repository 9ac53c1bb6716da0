"""One night judged: rendered, watched by every program that is to be compared, stored.

A job's folder holds the night while it is needed and one record per program. A record is kept until the
scenario, the renderer or the program changes; a kill at any moment leaves every finished record, and the next
run goes on from there.
"""

from __future__ import annotations

import hashlib
import json
import multiprocessing
import shutil
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bench.table import Judged
from bench.usage import NESTWATCH, machine, measured
from nestwatch.synthetic.scoring import score_night
from nestwatch.writing import staged

ROOT = Path(__file__).resolve().parents[1]
STORE = ROOT / "build" / "nights"
JUDGES = {"scoring.py", "matching.py", "likely.py", "reading.py"}  # they do not change what is rendered
DONE = (0, 3)  # done, and done though some footage could not be read
OURS = "judged"


@dataclass(frozen=True, slots=True)
class Rendered:
    """A night on disk: `site` file, `date` (ISO) and `truth` file."""

    site: Path
    date: str
    truth: Path


@dataclass(frozen=True, slots=True)
class Job:
    """One night to judge.

    `render(job, folder)` makes it, `command` is the program. `variant` names what `overrides` (JSON of
    dotted keys, see `load_scenario`) change of the scenario. `rivals`: variants of `bench.obvious` that watch
    it too.
    """

    scenario: str
    seed: int
    store: Path
    keep: bool
    render: Callable[[Job, Path], Rendered]
    command: tuple[str, ...] = NESTWATCH
    variant: str = ""
    overrides: str = "{}"
    rivals: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """What the night is called: scenario, seed and variant, fit for a folder."""
        parts = [*self.scenario.split("/"), str(self.seed), self.variant]
        return "-".join(part for part in parts if part)

    @property
    def folder(self) -> Path:
        """Where everything about this night is kept."""
        return self.store / self.name

    @property
    def changes(self) -> dict[str, Any]:
        """The overrides as a dictionary."""
        read: dict[str, Any] = json.loads(self.overrides)
        return read


def render(job: Job, folder: Path) -> Rendered:
    """Render with the project's own renderer."""
    from nestwatch.synthetic import load_scenario, render_night

    loaded = load_scenario(job.scenario)
    site = render_night(loaded, folder, seed=job.seed, overrides=job.changes)
    return Rendered(site, loaded.night.date.isoformat(), folder / "truth.json")


# Keys ------------------------------------------------------------------------------------------------


def digest(paths: Iterable[Path]) -> str:
    """One hash over names and contents of files."""
    total = hashlib.sha256()
    for path in sorted(paths):
        total.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return total.hexdigest()


def render_key(job: Job) -> str:
    """Changes when the scenario's file, what is changed of it, or the renderer does."""
    sources = [p for p in (ROOT / "nestwatch" / "synthetic").rglob("*.py") if p.name not in JUDGES]
    files = [*sources, *(ROOT / "samples" / "synthetic").glob(f"{job.scenario}.toml")]
    return digest(files) + (job.overrides if job.changes else "")


def run_key(job: Job) -> str:
    """Changes when the night or the program that looks at it does."""
    sources = [p for p in (ROOT / "nestwatch").rglob("*.py") if p.parent.name != "synthetic"]
    return render_key(job) + digest(sources)


def rival_key(job: Job) -> str:
    """Changes when the night or the obvious script does."""
    return render_key(job) + digest([ROOT / "bench" / "obvious.py"])


def read_json(path: Path) -> dict[str, Any]:
    """A stored record; empty where there is none."""
    if not path.exists():
        return {}
    stored: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return stored


def write_json(path: Path, record: Mapping[str, Any]) -> None:
    """Write a record so that a kill leaves the old one or the new one."""
    with staged(path) as fresh:
        fresh.write_text(json.dumps(record, indent=1), encoding="utf-8")


# One night -------------------------------------------------------------------------------------------


def rendered_night(job: Job) -> Rendered:
    """The night on disk, rendered now unless the same one is there already."""
    folder, key = job.folder / "rendered", render_key(job)
    note = job.folder / "rendered.json"
    stored = read_json(note)
    if stored.get("key") == key and folder.exists():
        return Rendered(folder / stored["site"], stored["date"], folder / stored["truth"])
    note.unlink(missing_ok=True)
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    night = job.render(job, folder)
    site, truth = night.site.relative_to(folder).as_posix(), night.truth.relative_to(folder).as_posix()
    write_json(note, {"key": key, "site": site, "date": night.date, "truth": truth})
    return night


def kept(job: Job, program: str) -> dict[str, Any]:
    """The stored record of a program, where it ran and nothing changed since; else empty."""
    key = run_key(job) if program == OURS else rival_key(job)
    stored = read_json(job.folder / f"{program}.json")
    return stored if stored.get("key") == key and stored["code"] in DONE else {}


def run(job: Job, program: str, night: Rendered) -> dict[str, Any]:
    """Have a program watch the night; its record is stored before it is given back."""
    ours = program == OURS
    start = [*job.command, "night"] if ours else [sys.executable, "-m", "bench.obvious", program]
    out = job.folder / f"out-{program}"
    shutil.rmtree(out, ignore_errors=True)
    log = job.folder / ("log.txt" if ours else f"log-{program}.txt")
    used = measured([*start, str(night.site), "--date", night.date, "--out", str(out)], log=log)
    record = {
        "key": run_key(job) if ours else rival_key(job),
        "scenario": job.scenario,
        "seed": job.seed,
        "variant": job.variant,
        "machine": machine(),
        "code": used.code,
        "cpu_s": used.cpu_s,
        "wall_s": used.wall_s,
        "truth": read_json(night.truth),
        "night": next((read_json(path) for path in sorted(out.rglob("night.json"))), {}),
    }
    write_json(job.folder / f"{program}.json", record)
    return record


def judge(job: Job) -> dict[str, Any]:
    """Our record of one night with those of the rivals under `rivals`: made now, or as they were stored."""
    programs = (OURS, *job.rivals)
    records = {program: kept(job, program) for program in programs}
    missing = [program for program in programs if not records[program]]
    if missing:
        night = rendered_night(job)
        records |= {program: run(job, program, night) for program in missing}
        if not job.keep and all(record["code"] in DONE for record in records.values()):
            clear(job)
    return {**records[OURS], "rivals": {program: records[program] for program in job.rivals}}


def clear(job: Job) -> None:
    """Remove the recordings and the reports; the records stay."""
    for folder in [job.folder / "rendered", *job.folder.glob("out*")]:
        shutil.rmtree(folder, ignore_errors=True)


def failed(job: Job) -> dict[str, Any]:
    """Stands for a night that could not even be rendered."""
    nothing = {"scenario": job.scenario, "seed": job.seed, "variant": job.variant, "code": 1, "cpu_s": None}
    return {**nothing, "truth": {}, "night": {}, "rivals": {}}


def as_stored(job: Job) -> dict[str, Any]:
    """What is stored of a night, whatever changed since; `failed` where nothing is."""
    ours = read_json(job.folder / f"{OURS}.json")
    rivals = {program: read_json(job.folder / f"{program}.json") for program in job.rivals}
    return {**(ours or failed(job)), "rivals": {name: record for name, record in rivals.items() if record}}


# All of them -----------------------------------------------------------------------------------------


def judge_all(jobs: Sequence[Job], *, workers: int) -> list[dict[str, Any]]:
    """Judge the nights in parallel, telling on stderr as they finish; in the order of `jobs`."""
    records: dict[Job, dict[str, Any]] = {}
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=context) as pool:
        waiting = {pool.submit(judge, job): job for job in jobs}
        for done in as_completed(waiting):
            job, wrong = waiting[done], done.exception()
            records[job] = failed(job) if wrong else done.result()
            told = f"{len(records)}/{len(jobs)} {job.name}: exit {records[job]['code']}"
            print(f"{told} ({wrong})" if wrong else told, file=sys.stderr, flush=True)
    return [records[job] for job in jobs]


def judged(record: Mapping[str, Any], *, rival: str | None = None) -> Judged:
    """What the table needs of a record, of a rival's where named. A night that failed has no score."""
    theirs = record if rival is None else record["rivals"].get(rival, {})
    ran = record["code"] in DONE and bool(record["night"])
    hours = sum(part["seconds_read"] for part in record["night"]["footage"]) / 3600 if ran else 0.0
    good = ran and theirs.get("code") in DONE and bool(theirs["night"])
    score = score_night(record["truth"], theirs["night"]) if good else None
    return Judged(record["scenario"], record["seed"], score, hours, theirs.get("cpu_s"))
