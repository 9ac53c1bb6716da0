"""The camera's own part: noise, gain, and the clock it writes into the picture."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.synthetic.story import Clock

Bytes = NDArray[np.uint8]
Generator = np.random.Generator
_ROOM = 64
_FIELDS = 6
_SCALE = 64


class Sensor:
    """Adds noise whose variance rises with the level. `strength` scales it; infrared is the noisier mode."""

    def __init__(self, size: tuple[int, int], strength: float, rng: Generator) -> None:
        width, height = size
        self._seed = int(rng.integers(1 << 30))
        self._fields = [self._field((height + _ROOM, width + _ROOM), rng) for _ in range(_FIELDS)]
        level = np.maximum(np.arange(256) - 16.0, 0)
        self._tables = {
            True: self._table(strength * np.sqrt(3.0 + 0.05 * level)),
            False: self._table(strength * np.sqrt(0.7 + 0.012 * level)),
        }
        self._sigma = np.empty((height, width), np.int16)
        self._noise = np.empty((height, width), np.int16)

    @staticmethod
    def _field(shape: tuple[int, int], rng: Generator) -> NDArray[np.int16]:
        """Unit noise times `_SCALE`, a little smoothed as a sensor's own processing does."""
        raw = cv2.GaussianBlur(rng.standard_normal(shape, dtype=np.float32), (0, 0), 0.55)
        return np.asarray(raw / raw.std() * _SCALE, np.int16)

    @staticmethod
    def _table(sigma: NDArray[np.float64]) -> NDArray[np.int16]:
        return np.round(sigma * 16).astype(np.int16)

    def expose(
        self, picture: Bytes, luma: Bytes, t: float, *, gain: float, noise: float, infrared: bool
    ) -> None:
        """`picture` times `gain` plus `noise` times the usual noise into `luma`; pure in `t`."""
        if abs(gain - 1) > 1e-3:
            picture = np.asarray(cv2.convertScaleAbs(picture, None, gain, 16 * (1 - gain)), np.uint8)
        rng = _quick(self._seed, t)
        field = self._fields[rng[0] % _FIELDS]
        dx, dy = rng[1] % _ROOM, rng[2] % _ROOM
        height, width = picture.shape
        cv2.LUT(picture, self._tables[infrared], self._sigma)
        part = field[dy : dy + height, dx : dx + width]
        cv2.multiply(part, self._sigma, self._noise, noise * max(gain, 1.0) / (16 * _SCALE), cv2.CV_16S)
        cv2.add(picture, self._noise, luma, None, cv2.CV_8U)


def _quick(seed: int, t: float) -> tuple[int, int, int]:
    """Three numbers that look random and depend on seed and time only (a 64-bit mix, after splitmix64)."""
    mask = (1 << 64) - 1
    z = (seed * 0x9E3779B97F4A7C15 + round(t * 1000) * 0xD1B54A32D192ED03) & mask
    z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & mask
    z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & mask
    z ^= z >> 31
    return z & 0xFFFF, (z >> 16) & 0xFFFF, (z >> 32) & 0xFFFF


class ClockText:
    """The wall time burned into the top left corner, new every second."""

    def __init__(self, clock: Clock, size: tuple[int, int]) -> None:
        self._clock, self._size = clock, max(size[0] / 640 * 0.42, 0.33)
        self._second = -1
        self._text = np.zeros((0, 0), np.uint8)
        self._mask = np.zeros((0, 0), bool)

    def write(self, luma: Bytes, t: float) -> None:
        """Writes the time at `t` over the finished frame."""
        if int(t) != self._second:
            self._second = int(t)
            self._render(self._clock.wall(int(t)).strftime("%Y-%m-%d %H:%M:%S"))
        rows, columns = self._text.shape
        np.copyto(luma[6 : 6 + rows, 8 : 8 + columns], self._text, where=self._mask)

    def _render(self, words: str) -> None:
        thick = max(1, round(self._size * 2))
        (width, height), low = cv2.getTextSize(words, cv2.FONT_HERSHEY_SIMPLEX, self._size, thick)
        shape = (height + low + 4, width + 6)
        edge, ink = np.zeros(shape, np.uint8), np.zeros(shape, np.uint8)
        at = (3, height + 2)
        cv2.putText(edge, words, at, cv2.FONT_HERSHEY_SIMPLEX, self._size, 255, thick + 2, cv2.LINE_AA)
        cv2.putText(ink, words, at, cv2.FONT_HERSHEY_SIMPLEX, self._size, 235, thick, cv2.LINE_AA)
        self._text = np.maximum(ink, 16)
        self._mask = edge > 60
