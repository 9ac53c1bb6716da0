"""Judged nights kept in the repository: a run of hours can be printed again, and another run goes on from it.

Ours: one file for each `METHOD` of `nestwatch.camera_night`, which is raised whenever the same footage may
give other results. The obvious script's: one file. A night whose scenario or renderer changed since is not
taken from them, nor what the script found before it was changed.
"""

from __future__ import annotations

import json
import lzma
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from bench.judge import OURS, ROOT, Job, failed, kept, render_key, rival_key, run_key, write_json
from nestwatch.camera_night import METHOD
from nestwatch.writing import staged

FOLDER = ROOT / "bench" / "records"
_DIGEST = 64  # hexadecimal digits of the program's digest, which end a record's key

Record = Mapping[str, Any]


def pack(jobs: Iterable[Job], folder: Path = FOLDER) -> tuple[int, int]:
    """Add what is judged of `jobs` by the programs as they are; how many nights of ours and of the script's
    the files hold then."""
    jobs = list(jobs)
    ours = {job.name: kept(job, OURS) for job in jobs}
    script = {_name(job, rival): kept(job, rival) for job in jobs for rival in job.rivals}
    held = _add(
        _ours(folder, METHOD), {name: _without_program(record) for name, record in ours.items() if record}
    )
    return held, _add(_scripts(folder), {name: _watched(record) for name, record in script.items() if record})


def unpack(jobs: Iterable[Job], folder: Path = FOLDER) -> int:
    """Put kept records of `jobs` into their store where it has none that holds; how many were."""
    ours, script, count = packed(_ours(folder, METHOD)), packed(_scripts(folder)), 0
    for job in jobs:
        record = ours.get(job.name)
        if record and record["render"] == render_key(job):
            count += _put(job, OURS, {**record, "key": run_key(job)})
        for rival in job.rivals:
            watched = script.get(_name(job, rival))
            if watched and watched["key"] == rival_key(job):
                count += _put(job, rival, watched)
    return count


def of_method(jobs: Iterable[Job], method: int, folder: Path = FOLDER) -> list[dict[str, Any]]:
    """What is kept of `jobs` as an earlier method judged them, in order, as `judge.as_stored` gives it."""
    ours, script = packed(_ours(folder, method)), packed(_scripts(folder))
    return [{**(ours.get(job.name) or failed(job)), "rivals": _rivals(job, script)} for job in jobs]


def nights_of_method(method: int, folder: Path = FOLDER) -> list[dict[str, Any]]:
    """Every night that is kept as an earlier method judged it, by name."""
    return [record for _, record in sorted(packed(_ours(folder, method)).items())]


def _name(job: Job, rival: str) -> str:
    return f"{job.name} {rival}"


def _rivals(job: Job, script: Mapping[str, Record]) -> dict[str, Record]:
    named = {rival: script.get(_name(job, rival)) for rival in job.rivals}
    return {rival: record for rival, record in named.items() if record}


def packed(source: Path) -> dict[str, dict[str, Any]]:
    """Records by the night's name; empty where no file is."""
    if not source.exists():
        return {}
    read: dict[str, dict[str, Any]] = json.loads(lzma.decompress(source.read_bytes()))
    return read


def _ours(folder: Path, method: int) -> Path:
    return folder / f"method-{method}.json.xz"


def _scripts(folder: Path) -> Path:
    return folder / "script.json.xz"


def _add(target: Path, fresh: Mapping[str, Record]) -> int:
    """How many records `target` holds with the fresh ones; not written without any."""
    before = packed(target)
    if not fresh:
        return len(before)
    target.parent.mkdir(parents=True, exist_ok=True)
    records = {**before, **fresh}
    with staged(target) as made:
        made.write_bytes(lzma.compress(json.dumps(records, sort_keys=True).encode(), preset=9))
    return len(records)


def _without_program(record: Record) -> dict[str, Any]:
    return {**{k: v for k, v in record.items() if k != "key"}, "render": record["key"][:-_DIGEST]}


def _watched(record: Record) -> dict[str, Any]:
    """The script's record without the truth, which ours holds too."""
    return {k: v for k, v in record.items() if k != "truth"}


def _put(job: Job, program: str, record: Record) -> int:
    if kept(job, program):
        return 0
    job.folder.mkdir(parents=True, exist_ok=True)
    write_json(job.folder / f"{program}.json", record)
    return 1
