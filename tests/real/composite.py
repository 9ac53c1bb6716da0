"""A rendered animal in a real camera's pictures: real noise, real leaves and people, known truth.

The clips last half a minute to a minute and a half. They are played there and back, over and over, at their
own pace, for as long as a small nest takes; an animal of the renderer walks in, searches, digs, lays, covers
and goes. It is lit by what it lies on: the mean of the real picture around it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import av
import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.synthetic.layout import apparent
from nestwatch.synthetic.light import BLACK
from nestwatch.synthetic.scenario import Scenario, parse_scenario
from nestwatch.synthetic.soil import MEAN_SOIL
from nestwatch.synthetic.story import Actor, Event, Story
from nestwatch.synthetic.turtle import Turtle
from nestwatch.synthetic.video import record

FPS = 1.0
Picture = NDArray[np.uint8]


@dataclass(frozen=True)
class Clip:
    """A real clip in grey: (n, rows, columns), `FPS` pictures a second."""

    luma: NDArray[np.uint8]

    def at(self, t: float) -> Picture:
        """A fresh copy of the picture `t` seconds into the endless playing there and back."""
        turn = 2 * (len(self.luma) - 1)
        place = round(t * FPS) % turn
        return np.array(self.luma[min(place, turn - place)])


def read_clip(path: Path, *, until: float, size: tuple[int, int]) -> Clip:
    """The clip up to `until` seconds at `size`, each beat of the clock showing the newest picture."""
    beats: list[Picture] = []
    shown: Picture | None = None
    with av.open(str(path)) as container:
        for frame in container.decode(video=0):
            assert isinstance(frame, av.VideoFrame)
            assert frame.time is not None
            while shown is not None and len(beats) / FPS < min(frame.time, until):
                beats.append(shown)
            if frame.time >= until:
                break
            grey = frame.to_ndarray(format="gray")
            shown = np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA), np.uint8)
    return Clip(np.stack(beats))


def night_of(size: tuple[int, int], near: tuple[float, float], **camera: object) -> Scenario:
    """A short night at `size` with one nest at `near` (plan metres), as short as they are published."""
    raw = {
        "format": "nestwatch-scenario/1",
        "name": "composite",
        "night": {"date": "2026-06-12", "from": "20:00", "to": "22:10"},
        "video": {"size": size, "fps": FPS, "gop_s": 4.0, "crf": 30.0, "clock_text": False},
        "camera": [{"name": "yard", **camera}],
        "animal": [
            {
                "name": "F1",
                "event": [
                    {
                        "kind": "nest",
                        "at": "20:32",
                        "near": near,
                        "search_min": 4,
                        "dig_min": 32,
                        "lay_min": 10,
                        "cover_min": 18,
                    }
                ],
            }
        ],
    }
    return parse_scenario(raw, {}, where="composite")


@dataclass(frozen=True)
class Pasted:
    """The truth: when she was on the spot (seconds into the night), where in the picture, her shell there."""

    start: float
    end: float
    chamber: tuple[float, float]
    body: tuple[float, float]
    shell_px: float
    posts: dict[str, tuple[tuple[float, float], tuple[float, float]]]


def truth_of(story: Story) -> Pasted:
    """Where and when the animal is to be found; the posts' places and pixels as a site file gives them."""
    actor, event = story.actors[0], nest_of(story.actors[0])
    lens = story.layout.lenses["yard"]
    shell, _, body = apparent(lens, event.body(actor.shell_m), event.heading, actor.shell_m)
    x, y = lens.project([(*event.rear, 0.0)])[0]
    posts = {}
    for name, at in story.layout.posts:
        px, py = lens.project([(*at, 0.0)])[0]
        if 0 <= px < lens.width and 0 <= py < lens.height:
            posts[name] = ((float(at[0]), float(at[1])), (float(px), float(py)))
    return Pasted(event.start, event.end, (float(x), float(y)), body, shell, posts)


def nest_of(actor: Actor) -> Event:
    """Its one nest."""
    return next(event for event in actor.events if event.kind == "nest")


def play(story: Story, clip: Clip, path: Path, *, animal: bool) -> None:
    """Record the clip, with the animal in it or as it is."""
    actor = story.actors[0]
    turtle = Turtle(story.layout.lenses["yard"], actor)

    def paint(t: float, luma: Picture) -> None:
        picture = clip.at(t)
        pose = actor.pose(t) if animal else None
        if pose is not None:
            turtle.draw(picture, pose, light_of(picture), black=BLACK)
        luma[...] = picture

    video = story.scenario.video
    record(path, video, np.arange(0, story.clock.seconds, 1 / video.fps), paint)


def light_of(picture: Picture) -> Callable[[float, float], float]:
    """Levels per reflectance at a pixel, were the ground there mean soil."""
    rows, columns = picture.shape

    def light(x: float, y: float) -> float:
        row, column = min(max(int(y), 0), rows - 1), min(max(int(x), 0), columns - 1)
        part = picture[max(0, row - 12) : row + 13, max(0, column - 12) : column + 13]
        return float((part.mean() - BLACK) / MEAN_SOIL)

    return light
