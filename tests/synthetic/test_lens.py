"""Picture and plan: against OpenCV's camera model, and there and back again."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from nestwatch.synthetic.layout import make_layout
from nestwatch.synthetic.lens import Lens, make_lens
from nestwatch.synthetic.scenario import load_scenario
from nestwatch.synthetic.story import stream


@pytest.fixture(
    name="lens", params=[(0.0, 0.0), (25.0, 2.0), (-140.0, -3.0)], ids=["plain", "turned", "back"]
)
def _lens(request: pytest.FixtureRequest) -> Lens:
    yaw, roll = request.param
    return make_lens((640, 360), eye=(2.0, -0.4, 2.5), yaw_deg=yaw, tilt_deg=42, roll_deg=roll, k1=-0.2)


def _pixels() -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    x, y = np.meshgrid(np.linspace(0, 640, 17), np.linspace(0, 360, 11))
    return np.stack([x.ravel(), y.ravel()], axis=1)


def _opencv(lens: Lens) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """The same camera as OpenCV names it: matrix, distortion, rotation vector, translation."""
    matrix = np.array([[lens.focal_px, 0, 320], [0, lens.focal_px, 180], [0, 0, 1]])
    bend = np.array([lens.k1, lens.k2, 0, 0, 0])
    return matrix, bend, cv2.Rodrigues(lens.turn)[0], -lens.turn @ lens.eye


def test_ground_and_back_gives_the_same_pixel(lens: Lens) -> None:
    plan = lens.ground(_pixels())
    seen = np.isfinite(plan).all(axis=1)
    assert seen.sum() > 150
    back = lens.project(np.column_stack([plan[seen], np.zeros(seen.sum())]))
    assert np.abs(back - _pixels()[seen]).max() < 1e-5


def test_projection_agrees_with_opencv(lens: Lens) -> None:
    # Outside check: cv2.projectPoints.
    rng = np.random.default_rng(5)
    plan = lens.ground(rng.uniform((40, 60), (600, 340), (60, 2)))
    points = np.column_stack([plan, rng.uniform(0, 0.4, len(plan))])
    matrix, bend, turn, move = _opencv(lens)
    expected = cv2.projectPoints(points, turn, move, matrix, bend)[0].reshape(-1, 2)
    assert np.abs(lens.project(points) - expected).max() < 1e-6


def test_rays_agree_with_opencv(lens: Lens) -> None:
    # Outside check: cv2.undistortPoints, which iterates differently.
    matrix, bend, _, _ = _opencv(lens)
    pixels = np.random.default_rng(6).uniform((20, 20), (620, 340), (60, 2))
    done = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 200, 1e-12)
    flat = cv2.undistortPoints(pixels.reshape(-1, 1, 2), matrix, bend, criteria=done).reshape(-1, 2)
    mine = lens.rays(pixels) @ lens.turn.T
    assert np.abs(mine[:, :2] / mine[:, 2:] - flat).max() < 1e-6


def test_jacobian_agrees_with_finite_steps(lens: Lens) -> None:
    at = np.array([*lens.ground([[300.0, 200.0]])[0], 0.05])
    step = np.array([0.002, -0.003, 0.001])
    expected = lens.project([at + step])[0] - lens.project([at])[0]
    assert lens.near(at) @ step == pytest.approx(expected, abs=2e-3)


def test_field_of_view_is_what_was_asked_for() -> None:
    lens = make_lens((640, 360), eye=(0, 0, 2), yaw_deg=90, tilt_deg=40, hfov_deg=82, k1=-0.2)
    left, right = lens.rays([[0.0, 180.0], [640.0, 180.0]])
    assert np.degrees(np.arccos(left @ right)) == pytest.approx(82, abs=1e-6)


@pytest.mark.parametrize("seed", range(8))
def test_the_pen_is_in_the_picture(seed: int) -> None:
    layout = make_layout(load_scenario("plain-nest"), stream(seed, "layout"))
    (x0, y0), _, (x1, y1), _ = layout.nesting
    rng = np.random.default_rng(seed)
    inside = [
        layout.in_every_picture(p, margin=0) for p in rng.uniform((x0, y0), (x1, y1), (200, 2)).tolist()
    ]
    assert np.mean(inside) > 0.75
