"""From a scenario to a folder: site file, recordings, truth."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from itertools import groupby
from multiprocessing import get_context
from pathlib import Path

import cv2

from nestwatch.errors import OutputError
from nestwatch.synthetic.painter import Painter, frame_times, segments
from nestwatch.synthetic.scenario import Scenario, override
from nestwatch.synthetic.sitefile import site_text
from nestwatch.synthetic.story import Story, make_story
from nestwatch.synthetic.truth import truth_text
from nestwatch.synthetic.video import record

Progress = Callable[[int, int], None]
Task = tuple[str, float, float]
"""A camera and one file of it, [start, end) in seconds since the night's start."""


def render_night(
    scenario: Scenario,
    folder: Path,
    *,
    seed: int,
    overrides: Mapping[str, object] | None = None,
    processes: int = 1,
    progress: Progress | None = None,
) -> Path:
    """Renders a night into `folder` and gives the path of its `site.toml`.

    `overrides` change dotted keys of the scenario (see `load_scenario`). `processes`: how many files are
    rendered at the same time. `progress(done, total)` is called after each file. The same scenario and
    seed give the same truth and frames whatever `processes` is. Raises ScenarioError, and OutputError when
    the folder cannot be written.
    """
    story = make_story(override(scenario, overrides or {}), seed)
    tasks = [(name, start, end) for name in story.layout.lenses for start, end in segments(story)]
    site = folder / "site.toml"
    try:
        for name in story.layout.lenses:
            (folder / "footage" / name).mkdir(parents=True, exist_ok=True)
        (folder / "truth.json").write_text(truth_text(story), encoding="utf-8", newline="\n")
        site.write_text(site_text(story), encoding="utf-8", newline="\n")
        for done, _ in enumerate(_run(story, folder, tasks, processes), start=1):
            if progress is not None:
                progress(done, len(tasks))
    except OSError as wrong:
        raise OutputError(
            f"{folder}: cannot write the invented night ({wrong.strerror or wrong})."
        ) from wrong
    return site


def file_stem(story: Story, camera: str, start: float) -> str:
    """How the file that starts `start` seconds into the night is called, below the camera's folder.

    When the clocks go back, the files of the repeated hour would take the names of the first: they go into
    a sub-folder.
    """
    clock = story.clock_of(camera)
    wall = clock.instant(start) if story.scenario.video.clock == "utc" else clock.wall(start)
    return f"{'again/' if wall.fold else ''}{camera}_{wall:%Y%m%dT%H%M%S}"


def _run(story: Story, folder: Path, tasks: list[Task], processes: int) -> Iterator[None]:
    """Renders the files, one step of the iterator for each that is done."""
    if processes <= 1 or len(tasks) <= 1:
        for camera, own in groupby(tasks, key=lambda task: task[0]):
            painter = Painter(story, camera)
            for _, start, end in own:
                _file(painter, folder, camera, start, end)
                yield
        return
    with ProcessPoolExecutor(min(processes, len(tasks)), mp_context=get_context("spawn")) as pool:
        jobs = [(story.scenario, story.asked, folder, task) for task in tasks]
        yield from pool.map(_alone, jobs)


_painters: dict[tuple[int, str, str], Painter] = {}
"""The painter last used in this worker process; building one takes a second."""


def _alone(job: tuple[Scenario, int, Path, Task]) -> None:
    """One file in a worker process."""
    scenario, seed, folder, (camera, start, end) = job
    cv2.setNumThreads(1)
    key = (seed, scenario.model_dump_json(), camera)
    if key not in _painters:
        _painters.clear()
        _painters[key] = Painter(make_story(scenario, seed), camera)
    _file(_painters[key], folder, camera, start, end)


def _file(painter: Painter, folder: Path, camera: str, start: float, end: float) -> None:
    story = painter.story
    path = folder / "footage" / camera / f"{file_stem(story, camera, start)}.{story.scenario.video.container}"
    path.parent.mkdir(parents=True, exist_ok=True)
    record(path, story.scenario.video, frame_times(story, start, end), painter.paint)
