"""The ground is known again by its grain in moving shade, and is not where something lies on it."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from nestwatch.ground.blocks import ByGrain
from nestwatch.ground.grain import covered_span, grain, grain_kept
from nestwatch.ground.normalise import light_level, lit_ground, local_normal, without_shine
from nestwatch.ground.records import Bins, Grid
from tests.ground.half_minutes import half_minutes
from tests.ground.scenes import COLUMNS, ROWS, SHELL, soil

HERE = (80.0, 120.0)
LAST = 240
SHADE, LAMP = 0.35, 1.8


def _night(
    *, shade: tuple[int, int] = (0, 0), animal: tuple[int, int] = (0, 0), light: float = SHADE, seed: int = 5
) -> Bins:
    """Half minutes of soil; a shadow's hard edge creeps over the middle during bins `shade`, or that of a
    lamp's `light` above 1; an animal lies there during `animal`."""
    rng = np.random.default_rng(seed)
    ground = soil(rng)
    pictures = np.zeros((LAST, ROWS, COLUMNS), np.uint8)
    for k in range(LAST):
        picture = ground.copy()
        if animal[0] <= k < animal[1]:
            axes = (round(SHELL / 2), round(SHELL * 0.4))
            cv2.ellipse(picture, (round(HERE[1]), round(HERE[0])), axes, 30, 0, 360, (60.0,), -1)
        if shade[0] <= k < shade[1]:
            share = (k - shade[0]) / (shade[1] - shade[0])
            left = round(HERE[1] - 40 + 30 * share)
            picture[:, left : left + 55] *= light
        pictures[k] = np.clip(picture + rng.normal(0, 1.0, picture.shape), 0, 255)
    steps = np.arange(LAST)
    return replace(half_minutes(steps, Grid(0, 0, ROWS, COLUMNS, (1.0, 1.0), SHELL)), median=pictures)


def test_a_shadow_leaves_the_grain_and_an_animal_covers_it() -> None:
    shaded, covered = _night(shade=(90, 170)), _night(animal=(90, 170))
    assert grain_kept(shaded, HERE, 90, 170) > 0.7
    assert grain_kept(covered, HERE, 90, 170) < 0.4
    both = _night(shade=(60, 200), animal=(90, 170))
    assert grain_kept(both, HERE, 90, 170) < 0.5


def test_a_hard_shadow_looks_like_an_animal_where_grain_is_not_asked() -> None:
    """What is measured against: the look alone takes the same shadow for as great a change."""
    pictures = [_night(**{what: (90, 170)}).median for what in ("shade", "animal")]  # type: ignore[arg-type]
    spot = np.s_[74:87, 114:127]
    looks = [
        float(np.abs(local_normal(p[130], 27)[spot] - local_normal(p[40], 27)[spot]).mean()) for p in pictures
    ]
    assert looks[0] > 0.4 * looks[1]


def test_a_pattern_that_the_sensor_lays_over_everything_does_not_hide_her() -> None:
    """Hot pixels, dirt on the dome: the same over ground and animal, 3 levels strong."""
    night = _night(animal=(90, 170))
    pattern = np.random.default_rng(9).normal(0, 3.0, night.median.shape[1:])
    dirty = replace(night, median=np.clip(night.median + pattern, 0, 255).astype(np.uint8))
    assert grain_kept(dirty, HERE, 90, 170) < 0.5


def test_without_a_side_or_without_grain_nothing_is_told() -> None:
    night = _night(animal=(0, LAST))
    assert np.isnan(grain_kept(night, HERE, 0, LAST))
    smooth = replace(night, median=np.full_like(night.median, 90))
    assert np.isnan(grain_kept(smooth, HERE, 90, 170))


def test_a_shadow_that_came_before_her_does_not_make_her_early() -> None:
    night = _night(shade=(60, 200), animal=(90, 170))
    first, last = covered_span(night, HERE, 62, 196)
    assert first == pytest.approx(90, abs=2)
    assert last == pytest.approx(170, abs=2)
    bare = _night(shade=(60, 200))
    assert covered_span(bare, HERE, 62, 196) == (62, 196)


def test_a_lamp_lit_three_quarters_of_an_hour_before_does_not_either() -> None:
    night = _night(shade=(15, 105), animal=(100, 205), light=LAMP)
    first, last = covered_span(night, HERE, 17, 205)
    assert first == pytest.approx(100, abs=2)
    assert last == pytest.approx(205, abs=2)


def test_likeness_is_the_correlation_of_the_mean_grain() -> None:
    """Outside check: numpy's `corrcoef` of two tiles of pure, still grain."""
    rng = np.random.default_rng(3)
    ground, other = rng.normal(size=(2, 81))
    mixed = 0.6 * ground + 0.8 * other
    tiles = np.stack([ground] * 20 + [mixed] * 20)
    tiles -= tiles.mean(axis=1, keepdims=True)
    products = np.asarray(tiles @ tiles.T / tiles.shape[1], np.float32)
    ours = ByGrain(products).likeness((np.array([20]), np.array([40])), (np.array([0]), np.array([20])))
    assert ours[0] == pytest.approx(np.corrcoef(ground, mixed)[0, 1], abs=1e-4)


def test_noise_does_not_lower_the_likeness_of_the_same_ground() -> None:
    rng = np.random.default_rng(4)
    tiles = rng.normal(size=81) + 1.5 * rng.normal(size=(60, 81))
    products = np.asarray(tiles @ tiles.T / tiles.shape[1], np.float32)
    halves = (np.array([0]), np.array([30])), (np.array([30]), np.array([60]))
    assert ByGrain(products).likeness(*halves)[0] == pytest.approx(1.0, abs=0.1)
    assert float(np.corrcoef(tiles[0], tiles[40])[0, 1]) < 0.6


def _leaves(level: float) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    picture = soil(np.random.default_rng(6), level=level)
    blades = np.zeros(picture.shape, np.uint8)
    for k in range(5):
        cv2.line(blades, (100 + 9 * k, 60), (112 + 6 * k, 100), 1, 3)
    picture[blades > 0] = 250.0
    return picture, blades > 0


def test_leaves_that_shine_are_taken_out_and_soil_is_not() -> None:
    usual, _ = _leaves(80.0)
    ground = lit_ground(np.stack([usual] * 4), np.full(4, light_level(usual)), 55)
    for level in (80.0, 96.0, 50.0):  # a gain a fifth higher, and dusk, too
        picture, blades = _leaves(level)
        matt = without_shine(picture, ground, light_level(picture))
        assert float(matt[blades].max()) < 1.4 * level
        changed = np.abs(matt - picture)[~blades] > 0
        assert float(changed.mean()) < 0.02


def test_grain_is_alike_in_light_and_shade() -> None:
    ground = soil(np.random.default_rng(8))
    light, shade = grain(ground), grain(SHADE * ground)
    assert float(np.corrcoef(light.ravel(), shade.ravel())[0, 1]) > 0.98
