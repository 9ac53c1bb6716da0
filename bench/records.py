"""Judged nights kept in the repository: a run of hours can be printed again, and another run goes on from it.

One file for each `METHOD` of `nestwatch.camera_night`, which is raised whenever the same footage may give
other results. A night whose scenario or renderer changed since is not taken from it.
"""

from __future__ import annotations

import json
import lzma
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from bench.judge import OURS, ROOT, Job, kept, render_key, run_key, write_json
from nestwatch.camera_night import METHOD
from nestwatch.writing import staged

RECORDS = ROOT / "bench" / "records" / f"method-{METHOD}.json.xz"
_DIGEST = 64  # hexadecimal digits of the program's digest, which end a record's key


def packed(source: Path = RECORDS) -> dict[str, dict[str, Any]]:
    """Records by the night's name; empty where no file is."""
    if not source.exists():
        return {}
    read: dict[str, dict[str, Any]] = json.loads(lzma.decompress(source.read_bytes()))
    return read


def pack(jobs: Iterable[Job], target: Path = RECORDS) -> int:
    """Add the nights of `jobs` that are judged by this program to the file; how many it holds then."""
    found = {job.name: kept(job, OURS) for job in jobs}
    records = packed(target) | {name: _without_key(record) for name, record in found.items() if record}
    target.parent.mkdir(parents=True, exist_ok=True)
    with staged(target) as fresh:
        fresh.write_bytes(lzma.compress(json.dumps(records, sort_keys=True).encode(), preset=9))
    return len(records)


def _without_key(record: Mapping[str, Any]) -> dict[str, Any]:
    return {**{k: v for k, v in record.items() if k != "key"}, "render": record["key"][:-_DIGEST]}


def unpack(jobs: Iterable[Job], source: Path = RECORDS) -> int:
    """Put packed records of `jobs` into their store where it has none; how many were."""
    records, count = packed(source), 0
    for job in jobs:
        record, file = records.get(job.name), job.folder / f"{OURS}.json"
        if record and not file.exists() and record["render"] == render_key(job):
            job.folder.mkdir(parents=True, exist_ok=True)
            write_json(file, {**record, "key": run_key(job)})
            count += 1
    return count
