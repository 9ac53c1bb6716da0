"""Faults of a camera and water on its glass do what their settings say, and only in their span."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from skimage.filters import gaussian

from nestwatch.synthetic.painter import Painter
from tests.synthetic.conftest import filmed

PainterOf = Callable[..., Painter]
START, END, MIDDLE = 2400.0, 6000.0, 4200.0
"""23:00, 00:00 and halfway, seconds after 22:20."""
STILL: dict[str, Any] = {"animal": [], "pen__plants": 0}


def _with(painter_of: PainterOf, *tables: dict[str, Any], noise: float = 0.0, **more: Any) -> Painter:
    spans = [{"from": "23:00", "to": "00:00", **table} for table in tables]
    return painter_of(2, nuisance=spans, video__noise=noise, **STILL, **more)


def test_without_its_lamp_the_camera_sees_nothing_but_noise(painter_of: PainterOf) -> None:
    painter = _with(painter_of, {"kind": "lamp_fails", "left": 0.0, "noise": 2.0}, noise=1.0)
    times = np.concatenate([np.arange(60, 70, 0.5), MIDDLE + np.arange(0, 10, 0.5)])
    frames = filmed(painter, times).astype(float)
    lit, dark = frames[:20], frames[20:]
    assert lit.mean() > 50
    assert dark.mean() == pytest.approx(16, abs=1)
    assert dark.mean(axis=0).std() < 2
    # Noise of a black picture at unit strength has a variance of 3 levels squared (sensor.py), here twice it.
    assert dark.std(axis=0).mean() == pytest.approx(2 * 3**0.5, rel=0.15)


def test_what_only_the_lamp_shows_goes_out_with_it(painter_of: PainterOf) -> None:
    tables: list[dict[str, Any]] = [
        {"kind": "insects", "per_minute": 60},
        {"kind": "web"},
        {"kind": "rain", "drops": 0},
    ]
    painter = _with(painter_of, {"kind": "lamp_fails", "left": 0.0}, *tables)
    frames = filmed(painter, MIDDLE + np.arange(0, 10, 0.5))
    assert frames.max() <= 17


def test_a_torch_still_shows_the_ground(painter_of: PainterOf) -> None:
    torch = {"kind": "lamp", "level": 120, "width_m": 1.0}
    painter = _with(painter_of, {"kind": "lamp_fails", "left": 0.0}, torch)
    assert filmed(painter, np.array([MIDDLE]))[0].max() > 80


def test_blur_is_a_gaussian_of_its_width(painter_of: PainterOf) -> None:
    painter = _with(painter_of, {"kind": "lens_blur", "blur_px": 3})
    sharp, soft = filmed(painter, np.array([60.0, MIDDLE])).astype(float)
    expected = gaussian(sharp, 3)  # type: ignore[no-untyped-call]
    assert np.abs(soft - expected)[20:-20, 20:-20].mean() < 0.7
    assert np.abs(soft - sharp)[20:-20, 20:-20].mean() > 2


def test_a_frozen_picture_repeats_noise_and_clock(painter_of: PainterOf) -> None:
    painter = _with(painter_of, {"kind": "frozen"}, noise=1.0, video__clock_text=True)
    times = np.array([START - 0.25, START, START + 0.25, START + 1800, END - 0.25, END])
    before, first, second, late, last, after = filmed(painter, times)
    assert np.array_equal(first, second)
    assert np.array_equal(first, late)
    assert np.array_equal(first, last)
    assert not np.array_equal(before, first)
    assert not np.array_equal(last, after)


def test_snow_flashes_its_share_of_pixels_in_every_frame(painter_of: PainterOf) -> None:
    painter = _with(painter_of, {"kind": "sparkle", "share": 0.003})
    empty = filmed(painter, np.array([60.0]))[0].astype(float)
    flashing = np.abs(filmed(painter, MIDDLE + np.arange(0, 10, 0.5)) - empty) > 25
    assert flashing.mean() == pytest.approx(0.003, rel=0.15)
    assert (flashing.sum(axis=0) >= 3).mean() < 1e-4
    # One in two is a pair of neighbours.
    pairs = (flashing[:, :, 1:] & flashing[:, :, :-1]).sum() / flashing.sum()
    assert pairs == pytest.approx(1 / 3, abs=0.08)


def test_drops_hide_what_is_behind_them_and_dry(painter_of: PainterOf) -> None:
    painter = _with(painter_of, {"kind": "wet_lens", "drops": 6, "size_px": 40, "rise": 15, "runs": 0})
    empty, wet, dry = filmed(painter, np.array([60.0, MIDDLE, END])).astype(float)
    covered = np.abs(wet - empty) > 8
    assert 0.02 < covered.mean() < 0.4
    inside = np.diff(wet, axis=1)[covered[:, 1:]].std()
    assert inside < 0.6 * np.diff(empty, axis=1)[covered[:, 1:]].std()
    assert np.array_equal(empty, dry)


def test_drops_that_run_end_up_lower(painter_of: PainterOf) -> None:
    painter = _with(painter_of, {"kind": "wet_lens", "drops": 5, "runs": 1, "size_px": 25})
    frames = filmed(painter, START + 0.3 * (END - START) + np.array([10.0, 60.0]))
    assert not np.array_equal(*frames)
    glass: Any = painter.nuisances[0]
    shares = [glass._share(t) for t in (START + 1090, START + 1110)]
    assert (shares[1] * glass._y).sum() / shares[1].sum() > (shares[0] * glass._y).sum() / shares[0].sum()


def test_dew_falls_slowly_and_dries(painter_of: PainterOf) -> None:
    table = {"kind": "dew", "tone": -0.15, "flatten": 0.5, "specks": 0, "film": 0, "dry_min": 20}
    painter = _with(painter_of, table)
    frames = filmed(painter, np.array([60, START + 900, MIDDLE, END, END + 7200])).astype(float)
    soil = painter.scene.bare > 0.99
    bright = [float(frame[soil].mean()) - 16 for frame in frames]
    assert bright[0] > bright[1] > bright[2] > bright[3]
    assert bright[3] / bright[0] == pytest.approx(0.85, abs=0.02)
    assert bright[4] == pytest.approx(bright[0], abs=0.3)
    fine = [float(np.diff(frame, axis=1)[soil[:, 1:]].std()) for frame in frames]
    assert fine[0] > fine[2] > fine[3]


def test_specks_of_dew_are_small_bright_and_grow(painter_of: PainterOf) -> None:
    painter = _with(painter_of, {"kind": "dew", "tone": 0, "flatten": 0, "specks": 600, "film": 0})
    empty, early, late = filmed(painter, np.array([60.0, START + 900, END])).astype(float)
    grown = [int((frame - empty > 15).sum()) for frame in (early, late)]
    assert 20 < grown[0] < 0.5 * grown[1]
    assert grown[1] < 0.03 * empty.size
    assert (late - empty).min() >= -1


def test_the_film_softens_patches_only(painter_of: PainterOf) -> None:
    painter = _with(painter_of, {"kind": "dew", "tone": 0, "flatten": 0, "specks": 0, "film": 0.6})
    empty, late = filmed(painter, np.array([60.0, END])).astype(float)
    fine = np.abs(np.diff(late, axis=1)) < np.abs(np.diff(empty, axis=1))
    assert fine.mean() > 0.2
    assert (late == empty).mean() > 0.1
