"""CPU seconds and peak memory of a command, counted by the operating system over it and all its children."""

from __future__ import annotations

import hashlib
import os
import platform
import subprocess
import sys
import time
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

NESTWATCH = (str(Path(sys.executable).with_name("nestwatch")),)


@dataclass(frozen=True, slots=True)
class Usage:
    """What one command took. `cpu_s`, `peak_mb` (largest single process, MiB) are None on Windows."""

    code: int
    wall_s: float
    cpu_s: float | None
    peak_mb: float | None
    stdout: str
    stderr: str


def measured(command: Sequence[str], *, log: Path | None = None) -> Usage:
    """Run a command to its end and measure it. `log` receives what it printed (else it is only returned).

    Runs a small watcher in between: the system sums children per parent process, so that two commands
    measured at the same time, or one after the other, do not count each other.
    """
    watcher = [sys.executable, str(Path(__file__).with_name("watch.py")), *command]
    began = time.monotonic()
    done = subprocess.run(
        watcher, check=False, capture_output=True, text=True, encoding="utf-8", errors="replace"
    )
    wall = time.monotonic() - began
    *printed, last = done.stderr.rstrip("\n").split("\n")
    cpu, peak = (None if word == "-" else float(word) for word in last.split()[1:])
    usage = Usage(done.returncode, wall, cpu, peak, done.stdout, "\n".join(printed))
    if log is not None:
        log.write_text(usage.stdout + usage.stderr, encoding="utf-8")
    return usage


def machine() -> str:
    """Eight digits that stand for this machine: CPU seconds of two machines must not be compared."""
    known = f"{platform.node()} {uuid.getnode()} {platform.processor()} {os.cpu_count()}"
    return hashlib.sha256(known.encode()).hexdigest()[:8]


def quiet_environment() -> None:
    """Leave the numerical libraries of later children one thread each, so that CPU seconds compare."""
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "OPENCV_FOR_THREADS_NUM"):
        os.environ[name] = "1"
