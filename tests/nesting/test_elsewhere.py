"""How much else moved while a stay lasted, a frame."""

from __future__ import annotations

import pytest

from nestwatch.ground.records import Blob
from nestwatch.nesting.elsewhere import NOTHING_MOVED, elsewhere


def patch(at: float, column: float) -> Blob:
    return Blob(at, 50.0, column, 30.0, 6.0, 6.0, 20.0)


FRAMES = [4.0 * k for k in range(100)]


def test_patches_a_frame_far_from_the_place() -> None:
    blobs = [patch(at, column) for at in FRAMES[::2] for column in (10.0, 200.0, 210.0)]
    moved = elsewhere(blobs[::-1], FRAMES)
    assert moved.per_frame(0.0, 400.0, 50.0, 10.0, 72.0) == pytest.approx(1.0), "two in every second frame"
    assert moved.per_frame(100.0, 200.0, 50.0, 205.0, 72.0) == pytest.approx(0.5, abs=0.05)
    assert moved.per_frame(0.0, 400.0, 50.0, 100.0, 500.0) == 0.0


def test_where_nothing_was_read_nothing_moved() -> None:
    assert elsewhere([patch(8.0, 10.0)], FRAMES).per_frame(1000.0, 2000.0, 50.0, 200.0, 72.0) == 0.0
    assert NOTHING_MOVED.per_frame(0.0, 100.0, 0.0, 0.0, 1.0) == 0.0
    assert elsewhere([], []).per_frame(0.0, 100.0, 0.0, 0.0, 1.0) == 0.0
