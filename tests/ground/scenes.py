"""Tiny invented scenes as arrays, for tests of ground/ and nesting/: no video, known truth."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.footage.records import SkimFrame
from nestwatch.ground.collect import Collector
from nestwatch.ground.records import Bins, Grid

START = 1_780_000_000.0
STEP_S = 4.0
ROWS, COLUMNS = 160, 240
SHELL = 18.0


@dataclass(frozen=True)
class Guest:
    """An animal at (x, y), head towards `heading` degrees, from minute `first` to `last`; `works` are the
    minutes [from, to) in which its hind end moves. `scar`: whether the ground is changed when it leaves."""

    x: float
    y: float
    heading: float
    first: float
    last: float
    works: Sequence[tuple[float, float]] = ()
    scar: bool = False
    contrast: float = -18.0

    def rear(self) -> tuple[float, float]:
        """(x, y) of the rear edge of the shell."""
        turn = np.deg2rad(self.heading)
        return self.x - np.cos(turn) * SHELL / 2, self.y - np.sin(turn) * SHELL / 2


def soil(rng: np.random.Generator, *, level: float = 80.0) -> NDArray[np.float32]:
    """Textured ground, float32 (ROWS, COLUMNS)."""
    fine, broad = (rng.normal(0, 1, (ROWS, COLUMNS)).astype(np.float32) for _ in range(2))
    out = cv2.GaussianBlur(fine, (0, 0), 1.2) * 18 + cv2.GaussianBlur(broad, (0, 0), 12) * 120 + level
    return np.asarray(out, np.float32)


def frames(guests: Sequence[Guest], *, minutes: float, seed: int, noise: float = 4.0) -> Iterator[SkimFrame]:
    """Skim frames every `STEP_S` seconds, with a slowly pumping gain and sensor noise."""
    rng = np.random.default_rng(seed)
    ground = soil(rng)
    scars = {id(g): _scarred(ground, g, rng) for g in guests if g.scar}
    for i in range(int(minutes * 60 / STEP_S)):
        minute = i * STEP_S / 60
        picture = ground.copy()
        for guest in guests:
            if guest.first <= minute < guest.last:
                _draw(picture, guest, minute, rng)
            elif guest.scar and minute >= guest.last:
                picture = picture + scars[id(guest)]
        picture = picture * (1 + 0.05 * np.sin(minute / 15)) + rng.normal(0, noise, picture.shape)
        yield SkimFrame(START + 60 * minute, np.clip(picture, 0, 255).astype(np.uint8), 0.3, STEP_S, 0)


def bins_of(guests: Sequence[Guest], *, minutes: float, seed: int, noise: float = 4.0) -> Bins:
    """The same as half-minute bins of the whole picture."""
    collector = Collector(Grid(0, 0, ROWS, COLUMNS, (2.0, 2.0), SHELL), start=START, hours=minutes / 60)
    for frame in frames(guests, minutes=minutes, seed=seed, noise=noise):
        collector.add(frame)
    return collector.finish()


def _draw(picture: NDArray[np.float32], guest: Guest, minute: float, rng: np.random.Generator) -> None:
    works = any(a <= minute < b for a, b in guest.works) and rng.random() < 0.85
    x, y = guest.x + (rng.normal() * 0.4 if works else 0.0), guest.y
    turn = np.deg2rad(guest.heading)
    phase = rng.random() * 6.28 if works else 0.0
    for side in (-1, 1):
        swing = side * (4 + 2 * np.sin(phase + side))
        foot = (x - np.cos(turn) * 8 + swing * np.sin(turn), y - np.sin(turn) * 8 - swing * np.cos(turn))
        cv2.circle(picture, (round(foot[0]), round(foot[1])), 2, (45.0,), -1)
    for scale, lift in ((1.0, 0.0), (0.5, 10.0)):
        axes = (round(SHELL / 2 * scale), round(SHELL * 0.38 * scale))
        level = (80.0 + guest.contrast + lift,)
        cv2.ellipse(picture, (round(x), round(y)), axes, guest.heading, 0, 360, level, -1)


def _scarred(ground: NDArray[np.float32], guest: Guest, rng: np.random.Generator) -> NDArray[np.float32]:
    mask = np.zeros(ground.shape, np.float32)
    x, y = guest.rear()
    cv2.circle(mask, (round(x), round(y)), 6, (1.0,), -1)
    mask = np.asarray(cv2.GaussianBlur(mask, (0, 0), 1), np.float32)
    return np.asarray((soil(rng) - ground) * mask, np.float32)
