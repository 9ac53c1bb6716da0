"""Small nights shared by the tests of the renderer."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from nestwatch.synthetic import Scenario, load_scenario
from nestwatch.synthetic.painter import Painter
from nestwatch.synthetic.story import make_story

Frames = NDArray[np.uint8]

QUIET: dict[str, object] = {
    "night.from": "22:20",
    "light.switch_at": "21:00",
    "animal.event.at": ["22:40", "22:41"],
    "animal.event.wander_min": 3,
    "animal.event.search_min": 3,
    "video.clock_text": False,
}
"""A plain nest under infrared from the start, on the spot about 22:40."""


def quiet(**more: object) -> Scenario:
    """The plain nest of `QUIET`; keyword names use two underscores for a dot."""
    return load_scenario("plain-nest", QUIET | {key.replace("__", "."): value for key, value in more.items()})


def filmed(painter: Painter, times: NDArray[np.float64]) -> Frames:
    """Luma frames (n, rows, columns) as they would be encoded."""
    frames = np.empty((len(times), painter.lens.height, painter.lens.width), np.uint8)
    for t, frame in zip(times, frames, strict=True):
        painter.paint(float(t), frame)
    return frames


@pytest.fixture(scope="session", name="painter_of")
def _painter_of() -> Callable[..., Painter]:
    made: dict[str, Painter] = {}

    def make(seed: int = 1, **more: Any) -> Painter:
        key = f"{seed} {sorted(more.items())}"
        if key not in made:
            scenario = quiet(**more)
            made[key] = Painter(make_story(scenario, seed), scenario.camera[0].name)
        return made[key]

    return make
