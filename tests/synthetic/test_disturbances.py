"""Each disturbance shows while the truth says so, does what it is for, and is gone outside."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from nestwatch.synthetic.nuisances import Nuisance, kinds
from nestwatch.synthetic.painter import Painter
from tests.synthetic.conftest import Frames, filmed

PainterOf = Callable[..., Painter]
QUIET_NOISE = {"video__noise": 0.0, "animal": [], "pen__plants": [6, 6]}
ALSO: dict[str, dict[str, Any]] = {"shadow": {"thrown_by": "moon"}}
"""What a kind needs to show at all under infrared."""
LASTING = {"rain", "dew", "nudge", "sag"}
"""Wet soil stays dark for hours; a camera that was moved stays moved."""


def _disturbed(painter_of: PainterOf, kind: str, **settings: Any) -> tuple[Painter, Nuisance]:
    table = {"kind": kind, "from": "23:00", "to": "23:10", **settings}
    painter = painter_of(2, nuisance=[table], **QUIET_NOISE)
    return painter, painter.nuisances[0]


def _during(nuisance: Nuisance, layout: Any, count: int = 40) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    start, end = nuisance.shows(nuisance.plan, layout)
    return np.asarray(np.linspace(start + 0.1, end - 0.1, count))


def _differs(painter: Painter, frames: Frames) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Mean absolute difference of each frame from the empty pen, levels."""
    empty = filmed(painter, np.array([5.0]))[0].astype(float)
    return np.asarray(np.abs(frames - empty).mean(axis=(1, 2)))


# A frozen picture of an empty pen shows nothing; it has its own test.
@pytest.mark.parametrize("kind", sorted(set(kinds()) - {"frozen"}))
def test_it_shows_only_when_the_truth_says(painter_of: PainterOf, kind: str) -> None:
    painter, nuisance = _disturbed(painter_of, kind, **ALSO.get(kind, {}))
    during = _differs(painter, filmed(painter, _during(nuisance, painter.story.layout)))
    assert during.max() > 0.001
    before = _differs(painter, filmed(painter, np.array([60.0, nuisance.plan.start - 5])))
    assert before.max() == 0
    if kind not in LASTING:
        end = nuisance.shows(nuisance.plan, painter.story.layout)[1]
        assert _differs(painter, filmed(painter, np.array([max(end, nuisance.plan.end) + 60]))).max() < 0.01


@pytest.mark.parametrize("kind", sorted(kinds()))
def test_frames_are_the_same_in_any_order(painter_of: PainterOf, kind: str) -> None:
    painter, nuisance = _disturbed(painter_of, kind, **ALSO.get(kind, {}))
    times = np.concatenate([_during(nuisance, painter.story.layout, 4), [60.0, nuisance.plan.end + 30]])
    forward, backward = filmed(painter, times), filmed(painter, times[::-1])
    assert np.array_equal(forward, backward[::-1])


def test_gain_moves_every_pixel_alike(painter_of: PainterOf) -> None:
    painter, nuisance = _disturbed(painter_of, "gain_drift", amount=0.15, period_min=4)
    times = _during(nuisance, painter.story.layout)
    t = times[np.argmax([abs(nuisance.gain(float(t)) - 1) for t in times])]
    empty, now = filmed(painter, np.array([5.0, t])).astype(float) - 16
    bright = empty > 40
    assert np.median(now[bright] / empty[bright]) == pytest.approx(nuisance.gain(float(t)), abs=0.01)
    assert np.std(now[bright] / empty[bright]) < 0.02


def test_rain_darkens_bare_soil_and_it_dries(painter_of: PainterOf) -> None:
    painter, nuisance = _disturbed(painter_of, "rain", darkening=1.0, soak_min=3, dry_min=30, drops=0)
    end = nuisance.plan.end
    frames = filmed(painter, np.array([5.0, end + 20, end + 3600, end + 3 * 3600])).astype(float) - 16
    soil = painter.scene.bare > 0.99
    dry, wet, later, last = (float(frame[soil].mean()) for frame in frames)
    assert wet / dry == pytest.approx(0.71, abs=0.03)
    assert wet < later < last <= dry
    assert np.abs(frames[1] - frames[0])[painter.scene.bare < 0.01].mean() < 0.6


def test_wind_moves_only_the_plants(painter_of: PainterOf) -> None:
    painter, nuisance = _disturbed(painter_of, "wind", strength=1.0)
    frames = filmed(painter, np.arange(nuisance.plan.start + 120, nuisance.plan.start + 150, 0.5))
    moved = frames.std(axis=0) > 2
    assert 0.0005 < moved.mean() < 0.08


def test_insects_come_and_go_within_seconds(painter_of: PainterOf) -> None:
    painter, nuisance = _disturbed(painter_of, "insects", per_minute=20)
    times = np.arange(nuisance.plan.start + 30, nuisance.plan.start + 90, 0.25)
    frames = filmed(painter, times).astype(float)
    empty = filmed(painter, np.array([5.0]))[0].astype(float)
    touched = frames - empty > 15
    assert touched.any(axis=(1, 2)).sum() > 10
    assert touched.mean(axis=0).max() < 0.2


@pytest.mark.parametrize(("kind", "low", "high"), [("small_animal", 15, 900), ("person", 4000, 120000)])
def test_visitors_have_their_size(painter_of: PainterOf, kind: str, low: int, high: int) -> None:
    painter, nuisance = _disturbed(painter_of, kind, tone=0.9)
    frames = filmed(painter, _during(nuisance, painter.story.layout, 60)).astype(float)
    empty = filmed(painter, np.array([5.0]))[0].astype(float)
    covered = (np.abs(frames - empty) > 6).sum(axis=(1, 2))
    assert low < covered.max() < high


def test_a_visitor_walks_at_its_speed(painter_of: PainterOf) -> None:
    _, nuisance = _disturbed(painter_of, "larger_animal", speed_m_s=0.4, stop_s=5)
    trail: Any = nuisance._trail  # type: ignore[attr-defined]
    steps = np.hypot(*np.diff(trail.places, axis=0).T)
    moving = steps > 0
    assert steps[moving] / np.diff(trail.times)[moving] == pytest.approx(0.4, rel=1e-6)
    assert (trail.at(trail.times[0])[0], trail.at(trail.times[0])[1]) == pytest.approx(trail.places[0])
