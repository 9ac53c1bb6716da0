"""Limb motion in bursts of full-rate frames: where it is, how much, and its rhythm.

Pixel spectra 0.08–1 Hz (Cutler & Davis 2000, doi 10.1109/34.868681, analyse the same periodicity through
self-similarity). Key frames make even a still picture pulse at their own rate, so that rate and its
harmonics are notched out, and the spot is compared with its rim, which pulses the same way.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.footage.records import Burst
from nestwatch.ground.records import Floats

_BAND_HZ = (0.08, 1.0)
_MIN_FRAMES = 24
_SECTORS = 8


@dataclass(frozen=True, slots=True)
class Motion:
    """Movement in one burst. `energy`: log of the variance in the band at the spot over that on the rim.

    `peak_hz`: strongest frequency at the spot. `peak_ratio`: its power over the median of the band, relative
    to the same on the rim. `spread`: float32 (rows, columns) of the burst's picture, standard deviation in
    levels beyond the rim's, 0 where still.
    """

    energy: float
    peak_hz: float
    peak_ratio: float
    spread: Floats


def burst_motion(burst: Burst, spot: tuple[float, float], shell_px: float) -> Motion | None:
    """Movement around `spot` (row, column) of the burst's picture; None where the burst is too short.

    `shell_px`: shell length in pixels of the burst's picture.
    """
    if len(burst.times) < _MIN_FRAMES:
        return None
    frames, rate = _even(burst)
    frames = np.stack([cv2.GaussianBlur(frame, (0, 0), 0.8) for frame in frames])
    frames -= frames.mean(axis=(1, 2), keepdims=True)
    hz, power = _spectra(frames, rate)
    band = (hz >= _BAND_HZ[0]) & (hz <= _BAND_HZ[1])
    open_band = band & ~_key_lines(hz, burst)
    if not open_band.any():
        open_band = band
    rows, columns = np.ogrid[: frames.shape[1], : frames.shape[2]]
    far = np.hypot(rows - spot[0], columns - spot[1])
    near, rim = far <= 0.9 * shell_px, far > 1.5 * shell_px
    sectors = _sectors(rim, np.arctan2(rows - spot[0], columns - spot[1]))
    if not near.any() or not sectors:
        return None
    return _compare(hz[open_band], power[open_band], near, sectors)


def _sectors(rim: NDArray[np.bool_], angle: NDArray[np.float64]) -> list[NDArray[np.bool_]]:
    """The rim in equal slices of the compass, less those that the picture's edge cuts short."""
    slices = (angle + np.pi) * (_SECTORS / (2 * np.pi))
    parts = [rim & (slices >= k) & (slices < k + 1) for k in range(_SECTORS)]
    least = 0.3 * max(int(part.sum()) for part in parts)
    return [part for part in parts if part.any() and part.sum() >= least]


def _compare(
    hz: NDArray[np.float64], power: Floats, near: NDArray[np.bool_], sectors: list[NDArray[np.bool_]]
) -> Motion:
    """The spot against the middle one of its rim's sectors: one blade of grass in the wind is not the rim."""
    total = power.sum(axis=0)
    rim = np.logical_or.reduce(sectors)
    loud = _loudest_tenth(total[near])
    quiet = np.median([_loudest_tenth(total[part]) for part in sectors])
    spectrum = power[:, near].mean(axis=1)
    ground = np.median([power[:, part].mean(axis=1) for part in sectors], axis=0)
    relative = spectrum / (ground + 1e-6)
    peak = int(np.argmax(relative))
    ratio = float(relative[peak] / max(float(np.median(relative)), 1e-6))
    spread = np.sqrt(np.maximum(total - np.percentile(total[rim], 90), 0.0))
    return Motion(
        float(np.log((loud + 1e-3) / (quiet + 1e-3))), float(hz[peak]), ratio, np.asarray(spread, np.float32)
    )


def _loudest_tenth(values: Floats) -> float:
    """Mean of the loudest tenth: limbs are small against the shell."""
    return float(np.sort(values)[-max(1, len(values) // 10) :].mean())


def _even(burst: Burst) -> tuple[Floats, float]:
    """The burst on an even clock (nearest frame), and its rate in Hz."""
    span = float(burst.times[-1] - burst.times[0])
    rate = (len(burst.times) - 1) / max(span, 1e-3)
    clock = burst.times[0] + np.arange(len(burst.times)) / rate
    index = np.clip(np.searchsorted(burst.times, clock), 1, len(burst.times) - 1)
    earlier = clock - burst.times[index - 1] < burst.times[index] - clock
    return burst.luma[index - earlier].astype(np.float32), rate


def _spectra(frames: Floats, rate: float) -> tuple[NDArray[np.float64], Floats]:
    """(f,) frequencies and (f, rows, columns) variance per frequency, drift removed, Hann window."""
    count = len(frames)
    ramp = np.linspace(-1.0, 1.0, count, dtype=np.float32)[:, None, None]
    slope = (frames * ramp).sum(axis=0) / (ramp**2).sum()
    flat = frames - frames.mean(axis=0) - slope * ramp
    window = np.hanning(count).astype(np.float32)[:, None, None]
    power = np.abs(np.fft.rfft(flat * window, axis=0)) ** 2
    hz = np.asarray(np.fft.rfftfreq(count, 1.0 / rate), np.float64)
    return hz, np.asarray(power * (8 / 3) * 2 / count**2, np.float32)


def _key_lines(hz: NDArray[np.float64], burst: Burst) -> NDArray[np.bool_]:
    """True at the key frames' rate and its harmonics (one bin either side)."""
    keys = burst.times[burst.key]
    if len(keys) < 2:
        return np.zeros(len(hz), np.bool_)
    base = 1.0 / float(np.median(np.diff(keys)))
    step = float(hz[1] - hz[0])
    if base < 4 * step:  # lines would be closer together than the notches are wide
        return np.zeros(len(hz), np.bool_)
    harmonic = np.round(hz / base)
    return np.asarray((harmonic >= 1) & (np.abs(hz - harmonic * base) <= 1.2 * step))
