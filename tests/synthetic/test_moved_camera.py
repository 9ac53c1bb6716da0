"""A camera that is knocked or sinks: the picture moves as asked, measured by scikit-image."""

from __future__ import annotations

from collections.abc import Callable
from math import cos, radians, sin
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from skimage.registration import phase_cross_correlation

from nestwatch.errors import ScenarioError
from nestwatch.synthetic.painter import Painter
from nestwatch.synthetic.story import make_story
from tests.synthetic.conftest import filmed, quiet

PainterOf = Callable[..., Painter]
START = 2400.0
"""23:00, seconds after 22:20."""


def _moved(painter_of: PainterOf, kind: str, **settings: Any) -> Painter:
    table = {"kind": kind, "from": "23:00", "to": "23:50", **settings}
    return painter_of(2, nuisance=[table], video__noise=0.0, animal=[], pen__plants=0)


def _shift(before: NDArray[np.float64], after: NDArray[np.float64]) -> NDArray[np.float64]:
    """(right, down) in pixels by which `after` lies from `before`, found by an outside method."""
    found = phase_cross_correlation(before, after, upsample_factor=50, normalization=None)[0]  # type: ignore[no-untyped-call]
    return -np.asarray(found)[::-1]


def _tiles(painter: Painter, t: float, *, half: int = 40) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Middles (n, 2) of tiles, from the picture's middle, and how far each has moved since 60 s."""
    frames = filmed(painter, np.array([60.0, t])).astype(float)
    rows, columns = frames.shape[1:]
    middles, moves = [], []
    for y in range(3 * half, rows - half, half):
        for x in range(2 * half, columns - 2 * half, 2 * half):
            # A window that fades towards its edge keeps what enters there from pulling the answer.
            part = frames[:, y - half : y + half, x - half : x + half]
            window = np.outer(np.hanning(2 * half), np.hanning(2 * half))
            flat = (part - part.mean(axis=(1, 2), keepdims=True)) * window
            moves.append(_shift(flat[0], flat[1]))
            middles.append((x - columns / 2, y - rows / 2))
    return np.array(middles), np.array(moves)


@pytest.mark.parametrize("direction", [0.0, 140.0, 250.0])
def test_a_nudge_moves_the_picture_as_asked(painter_of: PainterOf, direction: float) -> None:
    painter = _moved(painter_of, "nudge", shift_px=3, direction_deg=direction, turn_deg=0)
    _, moves = _tiles(painter, START + 1)
    asked = 3 * np.array([cos(radians(direction)), sin(radians(direction))])
    assert np.median(moves, axis=0) == pytest.approx(asked, abs=0.3)


def test_a_turn_is_clockwise_about_the_middle(painter_of: PainterOf) -> None:
    painter = _moved(painter_of, "nudge", shift_px=0, turn_deg=0.5)
    middles, moves = _tiles(painter, START + 1)
    # Clockwise with y down: what lies to the right of the middle moves down.
    expected = radians(0.5) * np.stack([-middles[:, 1], middles[:, 0]], axis=1)
    assert np.median(np.abs(moves - expected)) < 0.3
    assert np.corrcoef(moves[:, 1], expected[:, 1])[0, 1] > 0.9


def test_a_nudge_comes_at_once_and_stays(painter_of: PainterOf) -> None:
    painter = _moved(painter_of, "nudge")
    before, last, after, later = filmed(painter, np.array([60, START - 0.25, START, START + 7000]))
    assert np.array_equal(before, last)
    assert np.array_equal(after, later)
    assert not np.array_equal(last, after)


def test_a_nudge_is_seven_pixels_wherever_it_goes(painter_of: PainterOf) -> None:
    shift = _moved(painter_of, "nudge").nuisances[0].shift(START + 1)
    assert np.hypot(shift.right, shift.down) == pytest.approx(7)
    assert shift.turn == pytest.approx(0.33)


def test_a_sagging_camera_sinks_evenly(painter_of: PainterOf) -> None:
    painter = _moved(painter_of, "sag", shift_px=4, direction_deg=270, turn_deg=0)
    half, full, later = (_tiles(painter, START + t)[1] for t in (1500, 3000, 6000))
    assert np.median(half, axis=0) == pytest.approx((0, -2), abs=0.3)
    assert np.median(full, axis=0) == pytest.approx((0, -4), abs=0.3)
    assert np.array_equal(full, later)


def test_only_the_named_camera_is_knocked() -> None:
    table = {"kind": "nudge", "from": "23:00", "to": "23:50", "camera": "corner"}
    both = [{"name": "sandbank"}, {"name": "corner", "side": "west"}]
    story = make_story(quiet(nuisance=[table], camera=both, video__size=[320, 180]), 1)
    assert [len(Painter(story, name).nuisances) for name in ("sandbank", "corner")] == [0, 1]


def test_a_camera_nobody_has_is_refused() -> None:
    table = {"kind": "nudge", "from": "23:00", "to": "23:50", "camera": "roof"}
    with pytest.raises(ScenarioError, match="no camera 'roof'; use one of sandbank"):
        Painter(make_story(quiet(nuisance=[table]), 1), "sandbank")
