"""How finely a camera is looked at: by the size of a shell, within the memory of an ordinary computer."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from nestwatch.camera_night import _affordable
from nestwatch.footage.records import Footage
from nestwatch.ground.records import Grid
from tests.report.scenes import a_camera, local

START = local("18:00")


def looked_at(shell_px: float, hours: float, size: tuple[int, int] = (1920, 1080)) -> tuple[int, Grid]:
    """(columns, window) for a shell of so many footage pixels; the camera's outlines refer to 960x540."""
    camera = a_camera("bank")
    scale = (size[0] / camera.picture[0], size[1] / camera.picture[1])
    footage = Footage("bank", Path(), START, START + timedelta(hours=hours), (), (), (), *size, scale)
    return _affordable(camera, footage, shell_px, bins=hours * 120)


@pytest.mark.parametrize("shell_px", [30.0, 54.0, 90.0])
def test_a_shell_is_about_eighteen_pixels_long(shell_px: float) -> None:
    width, grid = looked_at(shell_px, 4.0)
    assert grid.shell_px == pytest.approx(18, rel=0.05)
    assert grid.to_picture[0] * width == pytest.approx(960)


def test_a_small_picture_is_never_enlarged() -> None:
    assert looked_at(8.0, 14.0, (352, 198))[0] == 352


@pytest.mark.parametrize("shell_px", [5.0, 12.0, 30.0, 90.0])
@pytest.mark.parametrize("hours", [4.0, 14.0, 24.0])
def test_a_long_night_seen_finely_stays_within_memory(shell_px: float, hours: float) -> None:
    """The pictures of all half minutes are the largest part of a process, which is to stay below 1 GB."""
    width, grid = looked_at(shell_px, hours)
    assert grid.rows * grid.columns * hours * 120 <= 620e6
    assert grid.shell_px == pytest.approx(shell_px * width / 1920)


def test_the_window_holds_the_nesting_zones_and_ground_around_them() -> None:
    _, grid = looked_at(54.0, 14.0)
    zone = a_camera("bank").zones_of("nesting")[0]
    for x, y in zone.outline:
        row, column = grid.window_point(x, y)
        assert -1 <= row <= grid.rows
        assert -1 <= column <= grid.columns
