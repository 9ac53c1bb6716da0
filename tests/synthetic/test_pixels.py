"""What the truth says can be seen in the frames: strokes, stillness, changed ground, light."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from nestwatch.synthetic.painter import Painter
from nestwatch.synthetic.story import Event
from tests.synthetic.conftest import Frames, filmed

PainterOf = Callable[..., Painter]


def _event(painter: Painter) -> Event:
    return painter.story.actors[0].events[0]


def _patch(painter: Painter, frames: Frames, *, half: int = 14) -> NDArray[np.float64]:
    """The frames around the chamber as float, (n, rows, columns)."""
    x, y = painter.lens.project([(*_event(painter).rear, 0.0)])[0].astype(int)
    return frames[:, y - half : y + half, x - half : x + half].astype(float)


def _energy(patch: NDArray[np.float64]) -> float:
    """Mean squared difference of successive frames, levels²."""
    return float(np.mean(np.diff(patch, axis=0) ** 2))


def _stage(painter: Painter, name: str) -> tuple[float, float]:
    stage = next(stage for stage in _event(painter).stages if stage.stage == name)
    return stage.start, stage.end


@pytest.mark.parametrize(("cadence", "seed"), [(6.0, 1), (10.0, 2), (15.0, 3)])
def test_strokes_show_at_their_cadence(painter_of: PainterOf, cadence: float, seed: int) -> None:
    painter = painter_of(seed, animal__event__cadence=cadence)
    start, end = _stage(painter, "dig")
    rate = 4.0
    patch = _patch(painter, filmed(painter, np.arange(start, min(start + 600, end - 5), 1 / rate)))
    still = np.median(patch, axis=0)
    away = np.sqrt(np.mean((patch - still) ** 2, axis=(1, 2)))
    # Welch: pauses between bouts only lower the line.
    pieces = np.array(
        [piece - piece.mean() for piece in np.array_split(away, len(away) // 400)], dtype=object
    )
    length = min(len(piece) for piece in pieces)
    power = np.mean(
        [np.abs(np.fft.rfft(np.asarray(p, float)[:length] * np.hanning(length))) ** 2 for p in pieces], 0
    )
    hertz = np.fft.rfftfreq(length, 1 / rate)
    band = (hertz > 0.06) & (hertz < 0.6)
    peak = hertz[band][np.argmax(power[band])]
    assert 60 * peak == pytest.approx(cadence, rel=0.15)
    assert power[band].max() > 5 * np.median(power[band])


def test_energy_tells_digging_and_covering_from_laying_and_rest(painter_of: PainterOf) -> None:
    painter = painter_of(1)
    seen = {}
    for name in ("dig", "lay", "cover"):
        start, end = _stage(painter, name)
        # One frame in 4 s, as a skim of key frames would see it.
        seen[name] = _energy(_patch(painter, filmed(painter, np.arange(start + 60, end - 60, 4.0))))
    before = _energy(_patch(painter, filmed(painter, np.arange(0, 300, 4.0))))
    assert seen["dig"] > 1.3 * seen["lay"]
    assert seen["cover"] > 1.3 * seen["lay"]
    assert seen["lay"] < 1.3 * before


def _change(painter: Painter) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """After minus before, means of 60 frames, levels; which pixels lie within half a shell of the chamber."""
    event, size = _event(painter), painter.story.actors[0].shell_m
    before = filmed(painter, np.arange(20, 80, 1.0)).mean(axis=0)
    leave = painter.story.actors[0].stretches[-1].end + 60
    after = filmed(painter, np.arange(leave, leave + 60, 1.0)).mean(axis=0)
    x, y = np.meshgrid(np.arange(painter.lens.width) + 0.5, np.arange(painter.lens.height) + 0.5)
    plan = painter.lens.ground(np.stack([x.ravel(), y.ravel()], axis=1)).reshape(*x.shape, 2)
    return after - before, np.hypot(*(plan - event.rear).transpose(2, 0, 1)) < 0.5 * size


def test_ground_differs_afterwards_only_where_she_dug(painter_of: PainterOf) -> None:
    change, near = _change(painter_of(1, animal__event__residual=0.9))
    assert np.abs(change[near]).mean() > 4 * np.abs(change[~near]).mean()


def test_packed_ground_shows_nothing(painter_of: PainterOf) -> None:
    change, near = _change(painter_of(1, animal__event__residual=0))
    assert np.abs(change[near]).mean() < 1.3 * np.abs(change[~near]).mean()


def test_nothing_changes_before_the_first_stroke(painter_of: PainterOf) -> None:
    painter = painter_of(1, animal__event__residual=0.9)
    untouched = Painter(painter.story, "sandbank").scene.ir
    filmed(painter, np.array([10.0, _stage(painter, "dig")[0] - 1]))
    assert np.array_equal(painter.scene.ir, untouched)


def test_an_abandoned_dig_leaves_an_open_hole(painter_of: PainterOf) -> None:
    painter = painter_of(1, animal__event__kind="trial", animal__event__residual=0.8)
    event = _event(painter)
    change, _ = _change(painter)
    # A little towards the tail from the chamber the ground is now dark.
    back = event.rear - 0.06 * painter.story.actors[0].shell_m * np.array(
        [np.cos(event.heading), np.sin(event.heading)]
    )
    x, y = painter.lens.project([(*back, 0.0)])[0].astype(int)
    assert change[y - 1 : y + 2, x - 1 : x + 2].mean() < -15


def test_shell_contrast_is_what_was_asked_for(painter_of: PainterOf) -> None:
    def shell_over_soil(contrast: float) -> float:
        painter = painter_of(1, animal__contrast=contrast, animal__texture=0.0, pen__soil_contrast=0.02)
        event = _event(painter)
        t = _stage(painter, "lay")[0] + 30
        x, y = painter.lens.project([(*event.body(painter.story.actors[0].shell_m), 0.06)])[0].astype(int)
        with_her = filmed(painter, np.arange(t, t + 10, 0.5)).mean(axis=0)[y - 1 : y + 2, x - 1 : x + 2]
        without = filmed(painter, np.arange(20, 30, 0.5)).mean(axis=0)[y - 1 : y + 2, x - 1 : x + 2]
        return float((with_her.mean() - 16) / (without.mean() - 16))

    # The dome turns part of its surface away from the lamp, which darkens it by up to a third more.
    dark, same = shell_over_soil(-0.4), shell_over_soil(0.0)
    assert 0.8 < same <= 1.05
    assert dark / same == pytest.approx(0.6, abs=0.04)


def test_day_is_coloured_and_infrared_is_grey(painter_of: PainterOf) -> None:
    painter = painter_of(1, night__from="20:00", light__switch_at="21:00")
    luma = np.empty((painter.lens.height, painter.lens.width), np.uint8)
    day = painter.paint(600.0, luma)
    assert day is not None
    assert np.abs(day[0].astype(float) - 128).mean() > 5
    assert painter.paint(3599.9, luma) is not None
    assert painter.paint(3600.0, luma) is None


def test_infrared_has_a_bright_spot_and_dark_corners(painter_of: PainterOf) -> None:
    light = painter_of(1).beam.infrared
    corners = [light[0, 0], light[0, -1]]
    assert max(corners) < 0.6 * light.max()
    assert 16 + light.max() * 0.42 < 200


def test_noise_differs_from_frame_to_frame_and_grows_with_level(painter_of: PainterOf) -> None:
    painter = painter_of(1)
    frames = filmed(painter, np.arange(10, 40, 0.5)).astype(float)
    deviation, level = frames.std(axis=0), frames.mean(axis=0)
    dark, bright = level < np.percentile(level, 15), level > np.percentile(level, 85)
    assert 1.0 < deviation[dark].mean() < deviation[bright].mean() < 6
    assert len({frame.tobytes() for frame in frames}) == len(frames)
