"""Paints one camera's frames: still ground, light, plants, animals, disturbances, sensor noise, clock.

Every frame is a pure function of the story and the time, so segments may be painted in any order.
"""

from __future__ import annotations

from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.synthetic.layout import draw
from nestwatch.synthetic.light import BLACK, Beam, make_dusk
from nestwatch.synthetic.nuisances import make_nuisances, make_plans
from nestwatch.synthetic.nuisances.base import AIR, BEFORE_LENS, GLASS, NO_SHIFT, PEN, Light, Shift
from nestwatch.synthetic.nuisances.creatures import guests
from nestwatch.synthetic.nuisances.moved import move
from nestwatch.synthetic.nuisances.together import Together
from nestwatch.synthetic.plants import Plants
from nestwatch.synthetic.scar import STEP_S, Scars
from nestwatch.synthetic.scene import Scene
from nestwatch.synthetic.sensor import ClockText, Sensor
from nestwatch.synthetic.soil import make_soil
from nestwatch.synthetic.story import Story, stream
from nestwatch.synthetic.turtle import Turtle

Bytes = NDArray[np.uint8]
Chroma = tuple[Bytes, Bytes]
ON_A_BACK = 0.1
"""An animal lifted by more (shell lengths) stands on another; walking lifts it by half of that."""


class Painter:
    """Everything one camera needs to paint a night. `paint(t, luma)` is all that is asked of it."""

    def __init__(self, story: Story, camera: str) -> None:
        scenario, seed, layout = story.scenario, story.seed, story.layout
        self.story, self.lens = story, layout.lenses[camera]
        rng = stream(seed, "soil")
        cell = float(np.clip(0.005 * 640 / self.lens.width, 0.0025, 0.008))
        soil = make_soil(
            layout,
            contrast=draw(scenario.pen.soil_contrast, rng),
            stones=round(draw(scenario.pen.stones, rng)),
            twigs=round(draw(scenario.pen.twigs, rng)),
            cell=cell,
            rng=rng,
        )
        own = stream(seed, f"camera {camera}")
        self.scene = Scene(self.lens, layout, soil, own)
        self.beam = Beam(self.lens, scenario, own)
        self.dusk = make_dusk(scenario, story.clock, stream(seed, "dusk"))
        self.sensor = Sensor(scenario.video.size, draw(scenario.video.noise, own), own)
        clock = story.clock_of(camera)
        self.text = ClockText(clock, scenario.video.size) if scenario.video.clock_text else None
        self.turtles = [(actor, Turtle(self.lens, actor)) for actor in story.actors]
        plans = make_plans(scenario, story.clock, seed)
        self.scars = Scars(soil, (*story.actors, *guests(plans, layout)))
        self.nuisances = make_nuisances(plans, layout, self.lens, camera)
        self._together = Together(self.nuisances)
        self.plants = Plants(self.lens, layout.plants)
        self.screen = Plants(self.lens, layout.screen)
        shape = (self.lens.height, self.lens.width)
        self._lit, self._picture = np.zeros(shape, np.uint8), np.zeros(shape, np.uint8)
        self._light, self._seen = self.beam.infrared, self.scene.ir
        self._chroma: Chroma | None = None
        self._state: tuple[float, ...] = ()

    def paint(self, t: float, luma: Bytes) -> Chroma | None:
        """Fills `luma` (rows, columns) with the frame at `t`; gives its colour planes, None by infrared."""
        t = self._together.freeze(t)
        infrared = self._relight(t)
        picture, chroma, light = self._pen(t, infrared)
        picture, chroma = self._lens(picture, chroma, t, light, infrared)
        gain, noise = self._together.gain(t), self._together.noise(t)
        self.sensor.expose(picture, luma, t, gain=gain, noise=noise, infrared=infrared)
        self._together.spoil(luma, t)
        if self.text is not None:
            self.text.write(luma, t)
        return chroma

    def _pen(self, t: float, infrared: bool) -> tuple[Bytes, Chroma | None, Light]:
        """The pen as a camera that never moved would see it, its colours, and the light in it."""
        picture = self._picture
        np.copyto(picture, self._lit)
        light = self._lamps(t, picture)
        self.plants.draw(picture, t, self._together.wind(t), light)
        self._animals(picture, t, light)
        self.screen.draw(picture, t, self._together.wind(t), light)
        self._together.draw(picture, t, self._at(light), layers=(PEN,), infrared=infrared)
        chroma = None if self._chroma is None else self._coloured(picture, self._chroma)
        return picture, chroma, self._at(light)

    def _lens(
        self, picture: Bytes, chroma: Chroma | None, t: float, light: Light, infrared: bool
    ) -> tuple[Bytes, Chroma | None]:
        """The picture behind the air and the lens of a camera that may have moved; and its colours."""
        self._together.draw(picture, t, light, layers=(AIR,), infrared=infrared)
        shift = self._together.shift(t)
        if shift != NO_SHIFT:
            picture = move(picture, shift)
        self._together.draw(picture, t, light, layers=(BEFORE_LENS, GLASS), infrared=infrared)
        return picture, None if chroma is None else _behind(chroma, shift, self._together.fade(t))

    def _coloured(self, picture: Bytes, chroma: Chroma) -> Chroma:
        """The ground's colours, greyish where something else now covers the ground."""
        changed = np.asarray(cv2.absdiff(picture, self._lit)[::2, ::2] > 6)
        if not changed.any():
            return chroma
        cb, cr = (plane.copy() for plane in chroma)
        cb[changed], cr[changed] = 126, 130
        return cb, cr

    def _animals(self, picture: Bytes, t: float, light: NDArray[np.float32]) -> None:
        """The animals, the farthest first, and last one that stands on another's back."""
        seen = [(turtle, pose) for actor, turtle in self.turtles if (pose := actor.pose(t)) is not None]
        eye = self.lens.eye
        seen.sort(
            key=lambda one: (
                one[1].lift > ON_A_BACK,
                -((one[1].x - eye[0]) ** 2 + (one[1].y - eye[1]) ** 2),
            )
        )
        for turtle, pose in seen:
            turtle.draw(picture, pose, self._at(light), black=BLACK)

    def _at(self, light: NDArray[np.float32]):  # type: ignore[no-untyped-def]
        rows, columns = light.shape
        return lambda x, y: float(light[min(max(int(y), 0), rows - 1), min(max(int(x), 0), columns - 1)])

    def _lamps(self, t: float, picture: Bytes) -> NDArray[np.float32]:
        """Adds lamps to the picture; gives the light then, levels per reflectance."""
        more = self._together.lamps(t)
        if more is None:
            return self._light
        picture[...] = np.clip(picture + more * self._seen, 0, 255).astype(np.uint8)
        return np.asarray(self._light + more, np.float32)

    def _relight(self, t: float) -> bool:
        """Brings the still picture up to date; True under infrared."""
        infrared = self.dusk.infrared(t)
        step = STEP_S * np.floor(t / STEP_S)
        wet = round(self._together.wet(step), 2)
        day = 0.0 if infrared else round(self.dusk.daylight(step), 3)
        changed = self.scars.update(t)
        for box in changed:
            self.scene.refresh(self.scene.rect_of(box))
        state = (float(infrared), day, wet, *self._together.epoch(t))
        if changed or state != self._state:
            self._state = state
            self._light = self._falling(t, infrared, day)
            self._seen = self._together.cover(self.scene.ir if infrared else self.scene.day, t)
            level = self._light * self._seen * (1 - np.float32(0.3 * wet) * self.scene.bare)
            self._lit = np.clip(level + np.float32(BLACK + 0.5), 0, 255).astype(np.uint8)
            self._chroma = None if infrared else self._colours(day)
        return infrared

    def _falling(self, t: float, infrared: bool, day: float) -> NDArray[np.float32]:
        """The light on the ground, levels per reflectance: the camera's lamp or the sky, and shadows."""
        light = self.beam.infrared if infrared else self.beam.sky * np.float32(day)
        left = self._together.lamp_left(t)
        if infrared and left < 1:
            light = np.asarray(light * np.float32(left), np.float32)
        return self._together.shade(light, t, infrared=infrared)

    def _colours(self, day: float) -> Chroma:
        cb, cr = (
            np.clip(128.5 + day * layer, 0, 255).astype(np.uint8) for layer in (self.scene.cb, self.scene.cr)
        )
        return cb, cr


def _behind(chroma: Chroma, shift: Shift, fade: float) -> Chroma:
    """The colour planes moved with the picture and faded towards grey."""
    if shift != NO_SHIFT:
        chroma = (move(chroma[0], shift, scale=0.5), move(chroma[1], shift, scale=0.5))
    if fade < 1:
        cb, cr = (np.asarray(128.5 + fade * (plane - 128.0), np.uint8) for plane in chroma)
        return cb, cr
    return chroma


def segments(story: Story) -> list[tuple[float, float]]:
    """The files of a camera's night, [start, end) in seconds: cut every `segment_min` and at gaps."""
    clock, every = story.clock, 60 * story.scenario.video.segment_min
    cuts = {0.0, clock.seconds, *np.arange(every, clock.seconds, every).tolist()}
    gaps = [(clock.offset(gap.start), clock.offset(gap.end)) for gap in story.scenario.gap]
    cuts |= {edge for gap in gaps for edge in gap if 0 < edge < clock.seconds}
    return [(a, b) for a, b in pairwise(sorted(cuts)) if not any(g0 <= a < g1 for g0, g1 in gaps)]


def frame_times(story: Story, start: float, end: float) -> NDArray[np.float64]:
    """When the frames of one file are taken, seconds since the night's start; uneven if `vfr`."""
    video = story.scenario.video
    count = int(np.ceil((end - start) * video.fps - 1e-9))
    if not video.vfr:
        return start + np.arange(count) / video.fps
    rng = stream(story.seed, f"frames {start}")
    steps = rng.uniform(0.7, 1.3, count) / video.fps
    steps[rng.random(count) < 0.01] *= 4
    times = start + np.concatenate([[0.0], np.round(np.cumsum(steps), 3)])
    return np.asarray(times[times < end], np.float64)
