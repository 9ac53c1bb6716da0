"""The animal itself: a domed oval shell of scutes, head, tail and four limbs, at any place and pose."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from nestwatch.synthetic.figure import (
    Bytes,
    Ellipsoids,
    Floats,
    Overlay,
    Stamp,
    bounds,
    fineness,
    limbs,
    outlines,
    spin,
)
from nestwatch.synthetic.gait import Pose
from nestwatch.synthetic.lens import Lens
from nestwatch.synthetic.soil import MEAN_SOIL
from nestwatch.synthetic.story import Actor

_RINGS = ((1.0, 0.07), (0.90, 0.17), (0.62, 0.30), (0.28, 0.37))
"""(share of the outline, height in shell lengths) from the rim to the top."""
_SECTORS = 12
_HALF_WIDTH = 0.39


def _dome() -> tuple[Floats, Floats]:
    """Facets (n, 4, 3) of the shell in shell lengths and outward normals (n, 3); rim first, top last."""
    turn = np.linspace(0, 2 * np.pi, _SECTORS + 1)
    rings = [
        np.column_stack([0.5 * k * np.cos(turn), _HALF_WIDTH * k * np.sin(turn), np.full(_SECTORS + 1, z)])
        for k, z in _RINGS
    ]
    facets = [
        np.stack([low[j], low[j + 1], high[j + 1], high[j]])
        for low, high in pairwise(rings)
        for j in range(_SECTORS)
    ]
    every = np.array(facets)
    normal = np.cross(every[:, 1] - every[:, 0], every[:, 3] - every[:, 0])
    return every, normal / np.linalg.norm(normal, axis=1, keepdims=True)


_FACETS, _NORMALS = _dome()
_CAP = np.column_stack(
    [
        0.5 * 0.28 * np.cos(np.linspace(0, 2 * np.pi, 13)[:-1]),
        _HALF_WIDTH * 0.28 * np.sin(np.linspace(0, 2 * np.pi, 13)[:-1]),
        np.full(12, 0.37),
    ]
)
_RIM = np.column_stack(
    [
        0.53 * np.cos(np.linspace(0, 2 * np.pi, 17)[:-1]),
        0.42 * np.sin(np.linspace(0, 2 * np.pi, 17)[:-1]),
        np.zeros(16),
    ]
)
_ROOTS = np.array([[0.30, 0.24, 0.1], [0.30, -0.24, 0.1], [-0.32, 0.22, 0.1], [-0.32, -0.22, 0.1]])


class Turtle:
    """Draws one animal for one camera, with the actor's size, contrast and texture."""

    def __init__(self, lens: Lens, actor: Actor) -> None:
        rng = np.random.default_rng(actor.seed)
        self.lens, self.shell_m = lens, actor.shell_m
        contrast, texture = actor.contrast, actor.texture
        self.tone = MEAN_SOIL * (1 + contrast)
        self._tones = self.tone * (1 + texture * rng.standard_normal(len(_FACETS)))
        self._cap = self.tone * (1 + texture * float(rng.standard_normal()))
        self._skin = MEAN_SOIL * (1 + 0.9 * contrast) * rng.uniform(0.92, 1.08, 6)
        self._fine = fineness(lens)
        self._near: tuple[Pose, Floats, Floats] | None = None
        self._last: tuple[Pose, float, Overlay | None] | None = None

    def draw(
        self, picture: Bytes, pose: Pose, light: Callable[[float, float], float], *, black: float
    ) -> None:
        """Draws into `picture` (rows, columns). `light(x, y)` gives levels per reflectance at a pixel."""
        slope, base = self._look(pose)
        gain = light(float(base[0]), float(base[1]))
        if self._last is None or self._last[:2] != (pose, gain):
            self._last = (pose, gain, self._overlay(picture, pose, slope, base, gain, black))
        overlay = self._last[2]
        if overlay is not None:
            overlay.blend(picture)

    def _overlay(
        self, picture: Bytes, pose: Pose, slope: Floats, base: Floats, gain: float, black: float
    ) -> Overlay | None:
        """The animal ready to be laid over the picture, None when it is out of it."""
        lift = np.array([0.0, 0.0, pose.lift])
        turn = spin(pose.heading, roll=pose.roll, pitch=pose.pitch)
        shell = (_FACETS + lift) @ turn.T * self.shell_m @ slope.T + base
        rim = _RIM @ turn.T * self.shell_m @ slope.T + base
        soft = outlines(slope, base, self._soft(pose, turn))
        stamp = Stamp(picture, bounds(shell, rim, soft), fine=self._fine)
        if stamp.empty:
            return None
        view = self.lens.eye - (pose.x, pose.y, 0.0)
        view /= np.linalg.norm(view)
        stamp.shadow(stamp.points(rim), 0.38)
        for corners, tone in zip(stamp.points(soft), black + gain * 0.9 * self._skin, strict=True):
            stamp.oval(corners, tone)
        shade = 0.5 + 0.5 * np.maximum(_NORMALS @ turn.T @ view, 0.0)
        levels = black + gain * self._tones * shade
        for corners, level in zip(stamp.points(shell), levels, strict=True):
            stamp.facet(corners, level)
        cap = (_CAP + lift) @ turn.T * self.shell_m @ slope.T + base
        stamp.facet(stamp.points(cap), black + gain * self._cap * (0.5 + 0.5 * float(turn[:, 2] @ view)))
        return stamp.finish()

    def _look(self, pose: Pose) -> tuple[Floats, Floats]:
        """Jacobian and pixel at the animal's place, kept while it moves less than a centimetre."""
        if self._near is not None:
            old, slope, base = self._near
            dx, dy = pose.x - old.x, pose.y - old.y
            if dx * dx + dy * dy < 1e-4:
                return slope, base + slope[:, 0] * dx + slope[:, 1] * dy
        middle = [pose.x, pose.y, 0.15 * self.shell_m]
        slope = self.lens.near(middle)
        base = self.lens.project([middle])[0] - slope[:, 2] * middle[2]
        self._near = (pose, slope, base)
        return slope, base

    def _soft(self, pose: Pose, turn: NDArray[np.float64]) -> Ellipsoids:
        """Limbs, tail and head, in metres in plan axes."""
        out, side = 0.12 + 0.16 * pose.head, np.sin(pose.head_turn)
        tip = (0.44 + out * np.cos(pose.head_turn), out * side, 0.15 - pose.head_dip)
        feet = np.array([*pose.feet, (-0.62, 0.0, 0.04), tip])
        roots = np.concatenate([_ROOTS, [[-0.45, 0.0, 0.08], [0.38, 0.0, 0.14]]])
        thick = np.array([0.065, 0.065, 0.075, 0.075, 0.025, 0.075])
        body = limbs(roots, feet, thick, self._skin)
        scale = self.shell_m
        return Ellipsoids(body.centres @ turn.T * scale, body.halves @ turn.T * scale, self._skin)
