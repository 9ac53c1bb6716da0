"""The nightly job, read top to bottom: watch every camera, rank what was found, write the report."""

from __future__ import annotations

import multiprocessing
import os
import queue
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from filelock import FileLock, Timeout

import nestwatch
from nestwatch.camera_night import Job, watch
from nestwatch.errors import OutputError
from nestwatch.nesting.rank import ranked
from nestwatch.report import write_report
from nestwatch.report.records import CameraNight, PlacedDig
from nestwatch.report.summary import summary_lines
from nestwatch.site.hours import night_hours
from nestwatch.site.records import Site


@dataclass(frozen=True, slots=True)
class Progress:
    """How far one camera is: `done` of `of` seconds of its night, and what it is `doing`."""

    camera: str
    done: float
    of: float
    doing: str


@dataclass(frozen=True, slots=True)
class NightResult:
    """A finished night. `document`: the night file's content. `folder`: where it lies.

    `summary`: the lines a keeper reads first. `partial`: True where some footage could not be read (exit 3).
    """

    document: dict[str, Any]
    folder: Path
    summary: tuple[str, ...]
    partial: bool


def run_night(
    site: Site,
    night: date,
    out: Path,
    *,
    trust_mtime: bool = False,
    workers: int | None = None,
    fresh: bool = False,
    progress: Callable[[Progress], None] | None = None,
) -> NightResult:
    """Watch one night of a site and write its report to `out/<date>`.

    `workers`: cameras watched at the same time, default one per core. `fresh`: do finished cameras again.
    `progress` is called in this process. Earlier results stay until new ones are whole. Raises
    `NestwatchError`.
    """
    folder = out / night.isoformat()
    with _alone(folder):
        hours = night_hours(site, night)
        jobs = [Job(site, camera, hours, folder, trust_mtime, fresh) for camera in site.cameras]
        cameras = _watch_all(jobs, workers or os.cpu_count() or 1, progress or (lambda _: None))
        digs = _ranked([placed for camera in cameras for placed in camera.digs])
        document = write_report(site, hours, cameras, digs, folder, nestwatch.__version__)
        partial = any(camera.account.unreadable for camera in cameras)
        return NightResult(document, folder, summary_lines(site, hours, document), partial)


def _ranked(placed: list[PlacedDig]) -> list[PlacedDig]:
    by_dig = {id(p.dig): p for p in placed}
    return [by_dig[id(dig)] for dig in ranked([p.dig for p in placed])]


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Keeps a second run out of the night's folder."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        lock = FileLock(folder / ".running", timeout=0)
        lock.acquire()
    except Timeout:
        raise OutputError(
            f"{folder}: another nestwatch is working on this night; wait for it to finish or stop it."
        ) from None
    except OSError as error:
        raise OutputError(
            f"{folder}: cannot be written ({error.strerror}); choose another folder with --out."
        ) from error
    try:
        yield
    finally:
        lock.release()


def _watch_all(jobs: list[Job], workers: int, progress: Callable[[Progress], None]) -> list[CameraNight]:
    if min(workers, len(jobs)) == 1:
        return [_watch_here(job, progress) for job in jobs]
    context = multiprocessing.get_context("spawn")  # OpenCV does not survive a fork
    channel, stop = context.Queue(), context.Event()
    pool = ProcessPoolExecutor(
        min(workers, len(jobs)), mp_context=context, initializer=_begin, initargs=(channel, stop)
    )
    with pool:
        futures = [pool.submit(_watch_there, job) for job in jobs]
        try:
            _follow(futures, channel, progress)
        except BaseException:
            stop.set()
            pool.shutdown(wait=True, cancel_futures=True)
            raise
        return [future.result() for future in futures]


def _watch_here(job: Job, progress: Callable[[Progress], None]) -> CameraNight:
    name = job.camera.name
    return watch(job, lambda done, of, doing: progress(Progress(name, done, of, doing)))


def _follow(futures: list[Future[CameraNight]], channel: Any, progress: Callable[[Progress], None]) -> None:
    """Passes progress on until every camera is done; the first failure ends the wait."""
    while True:
        try:
            progress(channel.get(timeout=0.2))
        except queue.Empty:
            done = [future for future in futures if future.done()]
            for future in done:
                future.result()
            if len(done) == len(futures):
                return


_shared: dict[str, Any] = {}


def _begin(channel: Any, stop: Any) -> None:
    """Set up a worker: the parent alone answers Ctrl-C, and tells workers by `stop`."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _shared.update(channel=channel, stop=stop)


class _Stopped(Exception):
    """Raised in a worker whose parent gave up."""


def _watch_there(job: Job) -> CameraNight:
    name = job.camera.name

    def tell(done: float, of: float, doing: str) -> None:
        if _shared["stop"].is_set():
            raise _Stopped
        _shared["channel"].put(Progress(name, done, of, doing))

    return watch(job, tell)
