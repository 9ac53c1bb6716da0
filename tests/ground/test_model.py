"""The offline ground model keeps an animal that a running background model swallows."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.boxes import find_boxes
from nestwatch.ground.collect import Collector, median_of
from nestwatch.ground.epochs import make_epochs
from nestwatch.ground.records import Grid
from nestwatch.ground.stir import find_stirs, stirring
from nestwatch.nesting.stays import stays_of_boxes
from tests.ground.scenes import COLUMNS, ROWS, SHELL, START, STEP_S, Guest, bins_of, frames

SITTER = Guest(120, 80, 30, first=60, last=180, contrast=-45)
DIGGER = Guest(120, 80, 30, first=60, last=180, works=((70, 120), (135, 170)), scar=True)
EVERYWHERE = np.ones((ROWS // 2, COLUMNS // 2), np.bool_)


def _on_shell(mask: NDArray[np.uint8]) -> float:
    return float((mask[75:86, 115:126] > 0).mean())


def test_mog2_absorbs_a_still_animal_where_our_model_keeps_it() -> None:
    """Outside check: OpenCV's MOG2 with its default settings, fed every skim frame."""
    subtractor = cv2.createBackgroundSubtractorMOG2(detectShadows=False)
    seen = {}
    for frame in frames([SITTER], minutes=240, seed=1):
        mask = subtractor.apply(frame.luma)
        seen[round((frame.at - START) / STEP_S)] = _on_shell(np.asarray(mask, np.uint8))
    arrival = round(60 * 60 / STEP_S)
    assert seen[arrival] > 0.8
    # An hour on it is ground; two hours of the stay, our model still has it whole.
    assert max(seen[arrival + 900 + i] for i in range(100)) < 0.1

    bins = bins_of([SITTER], minutes=240, seed=1)
    epochs = make_epochs(bins, 0)
    stays = stays_of_boxes(find_boxes(epochs, EVERYWHERE), epochs, bins)
    best = max(stays, key=lambda stay: stay.looks)
    assert abs(best.first - 120) <= 8
    assert abs(best.last - 360) <= 8
    assert np.hypot(best.row - 80, best.column - 120) < SHELL / 2


def test_a_sitting_animal_does_not_stir_and_a_digging_one_does() -> None:
    for guest, expected in ((SITTER, False), (DIGGER, True)):
        bins = bins_of([guest], minutes=240, seed=2)
        cells = np.ones(bins.energy.shape[1:], np.bool_)
        stirs = find_stirs(bins, stirring(bins), cells)
        assert any(np.hypot(s.row - 80, s.column - 120) < SHELL for s in stirs) is expected


def test_an_empty_night_has_no_boxes() -> None:
    bins = bins_of([], minutes=180, seed=3)
    assert find_boxes(make_epochs(bins, 0), EVERYWHERE) == []


def test_a_strand_that_comes_beside_an_animal_and_stays_after_it_leaves_a_part_for_the_animal() -> None:
    """A bright strand from minute 80 to 220 over half of an animal of minutes 60 to 180."""
    collector = Collector(Grid(0, 0, ROWS, COLUMNS, (2.0, 2.0), SHELL), start=START, hours=5.0)
    strand = np.zeros((ROWS, COLUMNS), np.float32)
    strand[68:78] = 60.0
    strand = np.asarray(cv2.GaussianBlur(strand, (0, 0), 2.5), np.float32)
    for frame in frames([SITTER], minutes=300, seed=4):
        if 80 * 60 <= frame.at - START < 220 * 60:
            luma = np.clip(frame.luma + strand, 0, 255).astype(np.uint8)
            frame = replace(frame, luma=luma)
        collector.add(frame)
    epochs = make_epochs(collector.finish(), 0)
    parts = [box.part for box in find_boxes(epochs, EVERYWHERE) if box.part is not None]
    hers = [part for part in parts if abs(part.first - 30) <= 3 and abs(part.last - 90) <= 3]
    assert len(hers) >= 3
    assert all(np.hypot(part.row - 80, part.column - 120) < 1.2 * SHELL for part in hers)


def test_median_network_equals_numpy() -> None:
    rng = np.random.default_rng(0)
    for count in range(1, 16):
        stack = rng.integers(0, 256, (count, 12, 17)).astype(np.uint8)
        middle = np.sort(stack, axis=0)[(count - 1) // 2]
        assert np.array_equal(median_of(list(stack)), middle)
