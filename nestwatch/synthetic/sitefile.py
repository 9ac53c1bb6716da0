"""The site file of an invented night, as a keeper would have written it."""

from __future__ import annotations

from datetime import time
from typing import Any

import cv2
import numpy as np
import tomlkit

from nestwatch.synthetic.layout import Point, ellipse, seen_outline
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.story import Story

_LEAST_SHARE = 0.001
"""Of the picture: twice what a site file must have of a zone."""
CLICK_PX = 0.4
"""How far a keeper's click on a post is off, standard deviation in pixels of a 640 wide picture."""


def site_text(story: Story) -> str:
    """TOML text of the site file."""
    scenario, layout = story.scenario, story.layout
    night = scenario.night
    corners = [[0.0, 0.0], [layout.width, 0.0], [layout.width, layout.depth], [0.0, layout.depth]]
    document: dict[str, Any] = {
        "format": "nestwatch-site/1",
        "site": {
            "name": f"Invented night: {scenario.name}",
            "timezone": night.timezone,
            "latitude": night.latitude,
            "longitude": night.longitude,
            "units": "metric",
            "night": [f"{_evening(night.start):%H:%M}", f"{night.end:%H:%M}"],
        },
        "animal": _animal(story),
        "pen": [
            {
                "name": scenario.pen.name,
                "outline": corners,
                "post": [{"name": name, "at": list(at)} for name, at in layout.posts],
            }
        ],
        "camera": [_camera(story, name, lens) for name, lens in layout.lenses.items()],
    }
    return tomlkit.dumps(document)


def _evening(start: time) -> time:
    """When a keeper says the night begins, also where the recorder starts after midnight."""
    return start if start.hour >= 12 else time(22)


def _animal(story: Story) -> dict[str, Any]:
    spans = [part.shell_cm for part in story.scenario.animal] or [(15.0, 19.0)]
    return {
        "name": "European pond turtle",
        "shell_length_cm": [min(low for low, _ in spans) - 1, max(high for _, high in spans) + 1],
        "clutch_size": [5, 17],
        "incubation_c": [27, 30],
        "incubation_days": [55, 75],
        "nesting_season": ["05-15", "07-20"],
        "nesting_hours": ["18:00", "03:00"],
    }


def _camera(story: Story, name: str, lens: Lens) -> dict[str, Any]:
    layout = story.layout
    zones: list[dict[str, Any]] = [
        {"name": "sand", "kind": "nesting", "outline": _rounded(seen_outline(lens, layout.nesting))},
        {
            "name": "pond",
            "kind": "water",
            "outline": _rounded(seen_outline(lens, ellipse(*layout.pond), per_edge=1)),
        },
    ]
    return {
        "name": name,
        "pen": story.scenario.pen.name,
        "footage": f"footage/{name}",
        "stamp": f"{name}_%Y%m%dT%H%M%S",
        "clock": story.scenario.video.clock,
        "picture": [lens.width, lens.height],
        "zone": [zone for zone in zones if _worth_drawing(zone["outline"], lens)],
        "mark": _marks(story, lens),
    }


def _worth_drawing(outline: list[list[float]], lens: Lens) -> bool:
    """False for a sliver at the edge of the picture, which no keeper would draw."""
    area = cv2.contourArea(np.array(outline, np.float32)) if len(outline) >= 3 else 0.0
    return bool(area >= _LEAST_SHARE * lens.width * lens.height)


def _rounded(outline: list[Point]) -> list[list[float]]:
    kept: list[list[float]] = []
    for x, y in outline:
        if not kept or abs(x - kept[-1][0]) + abs(y - kept[-1][1]) > 0.5:
            kept.append([x, y])
    return kept


def _marks(story: Story, lens: Lens) -> list[dict[str, Any]]:
    """Every post in the picture, clicked a little off."""
    rng = np.random.default_rng([story.seed, lens.width])
    found = []
    for name, at in story.layout.posts:
        x, y = lens.project([(*at, 0.0)])[0] + rng.normal(0, CLICK_PX * lens.width / 640, 2)
        if 2 < x < lens.width - 2 and 2 < y < lens.height - 2:
            found.append({"post": name, "pixel": [round(float(x), 1), round(float(y), 1)]})
    return found
