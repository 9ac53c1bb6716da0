"""The nightly job, read top to bottom: watch every camera, rank what was found, write the report."""

from __future__ import annotations

import multiprocessing
import os
import queue
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from filelock import FileLock, Timeout

import nestwatch
from nestwatch.camera_night import Job, watch
from nestwatch.errors import FootageError, NestwatchError, OutputError
from nestwatch.footage.records import Account, Gap
from nestwatch.nesting.scale import SiteFit
from nestwatch.report import write_report
from nestwatch.report.names import clear_away
from nestwatch.report.records import CameraNight
from nestwatch.report.store import files_of
from nestwatch.report.summary import summary_lines
from nestwatch.site.hours import night_hours
from nestwatch.site.records import Site
from nestwatch.whole_night import KnownNest, together


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
    known_nests: Sequence[KnownNest] = (),
    fit: SiteFit | None = None,
    progress: Callable[[Progress], None] | None = None,
) -> NightResult:
    """Watch one night of a site and write its report to `out/<date>`.

    `workers`: cameras watched at the same time, default one per core. `fresh`: do finished cameras again.
    `known_nests`: of earlier nights, which a larger animal may raid in this one. `fit`: puts likelihoods
    right by the site's finds, None leaves them as built.
    `progress` is called in this process. Earlier results stay until new ones are whole, and where one camera
    fails the others are finished and kept for the next run. Raises `NestwatchError`; `FootageError` where no
    camera recorded anything that night.
    """
    folder = out / night.isoformat()
    with _alone(folder):
        hours = night_hours(site, night)
        jobs = [Job(site, camera, hours, folder, trust_mtime, fresh) for camera in site.cameras]
        outcomes = _watch_all(jobs, workers or os.cpu_count() or 1, progress or (lambda _: None))
        cameras = _recorded(jobs, outcomes)
        whole = together(site, hours, cameras, known_nests, scale=fit.scale if fit else None)
        document = write_report(
            site,
            hours,
            cameras,
            whole.digs,
            folder,
            nestwatch.__version__,
            raids=whole.raids,
            clocks=whole.clocks,
            fit=fit,
        )
        clear_away(folder, {name for camera in cameras for name in files_of(camera)})
        partial = any(camera.account.unreadable for camera in cameras)
        return NightResult(document, folder, summary_lines(site, hours, document), partial)


def _recorded(jobs: list[Job], outcomes: list[CameraNight | Exception]) -> list[CameraNight]:
    """Every camera's night, one without a recording as not seen; raises where any camera failed."""
    failed = [outcome for outcome in outcomes if isinstance(outcome, Exception)]
    faults = [error for error in failed if type(error) is not FootageError]
    if faults:
        raise _together(faults)
    nights = [outcome for outcome in outcomes if isinstance(outcome, CameraNight)]
    if all(_is_empty(night) for night in nights):
        raise failed[0] if len(jobs) == len(failed) == 1 else _nothing_recorded(jobs)
    return [
        outcome if isinstance(outcome, CameraNight) else _unseen(job)
        for job, outcome in zip(jobs, outcomes, strict=True)
    ]


def _together(errors: list[Exception]) -> Exception:
    """What to raise for several cameras: a fault of the program first, else one line with all reasons."""
    first = next((error for error in errors if not isinstance(error, NestwatchError)), errors[0])
    if isinstance(first, BrokenExecutor):
        return NestwatchError(
            "a camera's process was ended by the system, often because memory ran out; close other programs "
            "or run again with --workers 1 (finished cameras are kept)."
        )
    if len(errors) == 1 or not isinstance(first, NestwatchError):
        return first
    return type(first)(" Also: ".join(dict.fromkeys(str(error) for error in errors)))


def _is_empty(night: CameraNight) -> bool:
    """True where there was no recording at all: nothing read, and no file that could not be read."""
    return not night.account.seconds_read and not night.account.unreadable


def _nothing_recorded(jobs: list[Job]) -> FootageError:
    site, hours = jobs[0].site, jobs[0].hours
    start, end = (at.astimezone(ZoneInfo(site.timezone)) for at in (hours.start, hours.end))
    where = ", ".join(f'"{job.camera.name}" in {job.camera.footage}' for job in jobs)
    return FootageError(
        f"no camera has a recording of the night of {hours.date} ({start:%d %b %H:%M} to {end:%d %b %H:%M}): "
        f"{where}; check that the disk is connected, the recordings are copied and `stamp` and `clock` in "
        "the site file are right, or choose another night with --date."
    )


def _unseen(job: Job) -> CameraNight:
    """The night of a camera whose folder is empty."""
    start, end = job.hours.start, job.hours.end
    gap = Gap(start, end, "no recording in its folder")
    account = Account(job.camera.name, start, end, (end - start).total_seconds(), 0.0, (gap,), (), ())
    return CameraNight(account, (), (), None)


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


def _watch_all(
    jobs: list[Job], workers: int, progress: Callable[[Progress], None]
) -> list[CameraNight | Exception]:
    """Each camera's night, or why there is none. A camera that fails does not stop the others: what they
    finish is kept."""
    workers = min(workers, len(jobs))
    if workers == 1:
        return [_watch_here(job, progress) for job in jobs]
    context = multiprocessing.get_context("spawn")  # OpenCV does not survive a fork
    channel, stop = context.Queue(), context.Event()
    pool = ProcessPoolExecutor(workers, mp_context=context, initializer=_begin, initargs=(channel, stop))
    with pool:
        try:
            with _deaf_to_ctrl_c():
                futures = [pool.submit(_watch_there, job) for job in jobs]
            _follow(futures, channel, progress)
        except BaseException:
            stop.set()
            pool.shutdown(wait=True, cancel_futures=True)
            raise
        return [_outcome(future) for future in futures]


@contextmanager
def _deaf_to_ctrl_c() -> Iterator[None]:
    """Processes started in it ignore Ctrl-C from their first instruction on (they inherit that on POSIX)."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _watch_here(job: Job, progress: Callable[[Progress], None]) -> CameraNight | Exception:
    name = job.camera.name
    try:
        return watch(job, lambda done, of, doing: progress(Progress(name, done, of, doing)))
    except NestwatchError as error:
        return error


def _follow(futures: list[Future[CameraNight]], channel: Any, progress: Callable[[Progress], None]) -> None:
    """Passes progress on until every camera is done or has failed."""
    while True:
        finished = all(future.done() for future in futures)
        try:
            progress(channel.get(timeout=0.2))
        except queue.Empty:
            if finished:
                return


def _outcome(future: Future[CameraNight]) -> CameraNight | Exception:
    error = future.exception()
    if error is None:
        return future.result()
    if not isinstance(error, Exception):
        raise error
    return error


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
