"""Picture <-> plan against scikit-image, against a camera placed by hand, and the marks that cannot work."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from skimage.transform import ProjectiveTransform

from nestwatch.errors import SiteError
from nestwatch.site.file import load_site
from nestwatch.site.plan import PlanMap, fit_plan, plan_map
from nestwatch.site.records import Mark
from tests.site.sites import spoiled, written

Floats = NDArray[np.float64]

PLAN = np.array([[0, 0], [4.2, 0], [4.2, 3.0], [0, 3.0], [2.1, 0.1], [1.0, 2.0], [3.0, 1.4], [2.0, 2.9]])


def seen(plan: Floats) -> Floats:
    """A pinhole camera 2.5 m above (2.1, -0.5), tilted 40 degrees below the horizon, looking north: plan
    metres (n, 2) -> pixels (n, 2). Focal length 520 px, principal point (480, 270)."""
    tilt = np.radians(40)
    offset = np.column_stack([plan[:, 0] - 2.1, plan[:, 1] + 0.5, np.full(len(plan), -2.5)])
    right = np.array([1.0, 0, 0])
    forward = np.array([0, np.cos(tilt), -np.sin(tilt)])
    down = np.cross(forward, right)
    depth = offset @ forward
    x, y = 520 * (offset @ right) / depth, 520 * (offset @ down) / depth
    return np.column_stack([480 + x, 270 + y])


def grid() -> Floats:
    x, y = np.meshgrid(np.linspace(0.2, 4.0, 9), np.linspace(0.2, 2.8, 7))
    return np.column_stack([x.ravel(), y.ravel()])


def test_recovers_a_camera_placed_by_hand() -> None:
    fitted = fit_plan(PLAN, seen(PLAN))
    np.testing.assert_allclose(fitted.to_plan(seen(grid())), grid(), atol=1e-6)
    np.testing.assert_allclose(fitted.to_pixel(grid()), seen(grid()), atol=1e-4)
    assert fitted.residual_m < 1e-6


@pytest.mark.parametrize("marks", [4, 6, 8])
def test_agrees_with_scikit_image(marks: int) -> None:
    """Exact marks: skimage.transform.ProjectiveTransform.estimate gives the same mapping, both ways."""
    plan, pixels = PLAN[:marks], seen(PLAN[:marks])
    fitted = fit_plan(plan, pixels)
    other = ProjectiveTransform.from_estimate(pixels, plan)  # type: ignore[no-untyped-call]
    np.testing.assert_allclose(fitted.to_plan(seen(grid())), other(seen(grid())), atol=1e-5)
    np.testing.assert_allclose(fitted.to_pixel(grid()), other.inverse(grid()), atol=1e-3)


def test_least_squares_over_all_marks_beats_four_of_them() -> None:
    """Clicks 2 px off: over 200 draws eight marks err less on the plan than the four corners."""
    rng = np.random.default_rng(20260612)
    errors: dict[int, list[float]] = {4: [], 8: []}
    for _ in range(200):
        pixels = seen(PLAN) + rng.normal(0, 2, PLAN.shape)
        for marks, found in errors.items():
            miss = fit_plan(PLAN[:marks], pixels[:marks]).to_plan(seen(grid())) - grid()
            found.append(float(np.hypot(*miss.T).mean()))
    assert np.mean(errors[8]) < 0.9 * np.mean(errors[4])


def test_residual_tells_the_clicks_error() -> None:
    """Clicks 2 px off in each axis: the residual, over 300 draws, is the root mean square of what 2 px span
    at the marks, within 15 %. (Posts far from the camera span more metres per pixel.)"""
    rng = np.random.default_rng(7)
    exact = fit_plan(PLAN, seen(PLAN))
    spans = [np.square(np.linalg.norm(jacobian(exact, pixel))) for pixel in seen(PLAN)]
    expected = 2 * np.sqrt(np.mean(spans))
    found = [fit_plan(PLAN, seen(PLAN) + rng.normal(0, 2, PLAN.shape)).residual_m for _ in range(300)]
    assert np.sqrt(np.mean(np.square(found))) == pytest.approx(expected, rel=0.15)


def jacobian(plan: PlanMap, pixel: Floats) -> Floats:
    """d(plan)/d(pixel) by central differences."""
    step = 0.01
    sides = pixel + step * np.array([[1, 0], [-1, 0], [0, 1], [0, -1]])
    right, left, down, up = plan.to_plan(sides)
    return np.asarray(np.column_stack([right - left, down - up]) / (2 * step), np.float64)


@pytest.mark.parametrize("place", [(480.0, 270.0), (200.0, 100.0), (800.0, 450.0)])
def test_metres_per_pixel_is_the_longest_span_in_any_direction(place: tuple[float, float]) -> None:
    fitted = fit_plan(PLAN, seen(PLAN))
    turn = np.linspace(0, np.pi, 720)
    spans = jacobian(fitted, np.array(place)) @ np.stack([np.cos(turn), np.sin(turn)])
    assert fitted.metres_per_pixel(place) == pytest.approx(np.linalg.norm(spans, axis=0).max(), rel=1e-4)


@pytest.mark.parametrize("at", [(2.0, 0.5), (1.0, 2.5), (3.8, 1.5)])
def test_shell_pixels_is_the_mean_length_over_headings(at: tuple[float, float]) -> None:
    """A 16 cm rod turned through all headings in front of the hand-placed camera."""
    fitted = fit_plan(PLAN, seen(PLAN))
    turn = np.linspace(0, np.pi, 360, endpoint=False)
    half = 0.08 * np.column_stack([np.cos(turn), np.sin(turn)])
    lengths = np.linalg.norm(seen(at + half) - seen(at - half), axis=1)
    pixel = seen(np.array([at]))[0]
    assert fitted.shell_pixels((pixel[0], pixel[1]), 0.16) == pytest.approx(lengths.mean(), rel=0.01)


def test_sky_has_no_place_on_the_plan() -> None:
    """The hand-placed camera's horizon is tan(40 degrees) * 520 = 436 px above its middle row: y = -166."""
    fitted = fit_plan(PLAN, seen(PLAN))
    below, above = fitted.to_plan([(480, -160), (480, -172)])
    assert np.isfinite(below).all()
    assert np.isnan(above).all()
    assert np.isnan(fitted.to_pixel([(2.1, -20.0)])).all()
    assert np.isnan(fitted.metres_per_pixel((480, -172)))
    assert np.isnan(fitted.within_m((480, -172), 5))
    assert np.isnan(fitted.shell_pixels((480, -172), 0.16))


def test_a_camera_with_three_marks_works_without_plan(tmp_path: Path) -> None:
    text = spoiled(('[[camera.mark]]\npost = "post_nw"\npixel = [230.0, 42.0]\n', ""))
    site = load_site(written(tmp_path, text))
    assert plan_map(site, site.cameras[0]) is None


def test_plan_map_uses_the_posts_of_the_cameras_pen(tmp_path: Path) -> None:
    site = load_site(written(tmp_path))
    found = plan_map(site, site.cameras[0])
    assert found is not None
    pixels = np.array([mark.pixel for mark in site.cameras[0].marks])
    posts = np.array([post.at for post in site.pens[0].posts])
    np.testing.assert_allclose(found.to_plan(pixels), posts, atol=1e-6)
    assert found.residual_m == 0.0


def test_plan_map_refuses_marks_on_a_line(tmp_path: Path) -> None:
    site = load_site(written(tmp_path))
    line = tuple(Mark(mark.post, (100.0 * n, 50.0 * n)) for n, mark in enumerate(site.cameras[0].marks))
    with pytest.raises(SiteError) as raised:
        plan_map(site, replace(site.cameras[0], marks=line))
    assert str(raised.value) == (
        f'{site.path}: camera "sandbank", marks: "post_sw", "post_se", "post_ne" and "post_nw" '
        "lie on one line in the picture, which does not fix where things are; add a mark well off that line."
    )
