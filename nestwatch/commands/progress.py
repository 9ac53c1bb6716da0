"""Progress on stderr: a bar with the time left on a terminal, now and then a plain line elsewhere."""

from __future__ import annotations

import sys
from types import TracebackType
from typing import TYPE_CHECKING, Protocol, Self

import click

if TYPE_CHECKING:
    from rich.progress import Progress as Bars
    from rich.progress import TaskID

_STEP = 0.25  # a plain line for every quarter


class Step(Protocol):
    """What a job tells while it runs (`nestwatch.night.Progress`): `done` of `of`, and what it is doing."""

    @property
    def camera(self) -> str: ...
    @property
    def done(self) -> float: ...
    @property
    def of(self) -> float: ...
    @property
    def doing(self) -> str: ...


class Watcher:
    """Use as `with Watcher() as watcher: run(progress=watcher)`. The bar vanishes at the end."""

    def __init__(self) -> None:
        self._bars: Bars | None = None
        self._tasks: dict[str, TaskID] = {}
        self._said: dict[str, tuple[str, int]] = {}

    def __enter__(self) -> Self:
        if sys.stderr.isatty():
            self._bars = _bars()
            self._bars.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._bars is not None:
            self._bars.stop()

    def __call__(self, step: Step) -> None:
        if self._bars is None:
            self._say(step)
        else:
            self._draw(self._bars, step)

    def _draw(self, bars: Bars, step: Step) -> None:
        if step.camera not in self._tasks:
            self._tasks[step.camera] = bars.add_task(step.camera, total=step.of)
        bars.update(
            self._tasks[step.camera],
            completed=step.done,
            total=step.of,
            description=f"{step.camera}: {step.doing}",
        )

    def _say(self, step: Step) -> None:
        """A line when the camera turns to something new, and for each quarter of it."""
        quarter = int(step.done / step.of / _STEP) if step.of > 0 else 0
        before = self._said.get(step.camera)
        self._said[step.camera] = (step.doing, quarter)
        if before is None or before[0] != step.doing or before[1] < quarter:
            share = f", {100 * _STEP * quarter:.0f} %" if step.done < step.of else ""
            click.echo(f"{step.camera}: {step.doing}{share}", err=True)


def _bars() -> Bars:
    # Imported here: `nestwatch --help` should not wait for it. Rich itself honours NO_COLOR.
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

    return Progress(
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        TaskProgressColumn(),
        TimeRemainingColumn(),
        TextColumn("left"),
        console=Console(stderr=True),
        transient=True,
    )
