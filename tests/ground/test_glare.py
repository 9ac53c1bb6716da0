"""Something burnt white before the lens is taken out of a night; what is white for good is left alone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import cv2
import numpy as np
import pytest

from nestwatch.ground.collect import Collector
from nestwatch.ground.glare import outside_glare, without_glare
from nestwatch.ground.health import examine
from nestwatch.ground.records import CELL, Bins, Blob, Grid
from tests.ground.scenes import COLUMNS, ROWS, SHELL, START, Guest, bins_of, frames

MINUTES = 60.0
FEMALE = Guest(120, 80, 30, first=15, last=60)
Spider = Callable[[float], tuple[float, float] | None]


def crossing(minute: float) -> tuple[float, float] | None:
    """A spider that hangs over the female from minute 20 to 40 and moves on beside her until 50."""
    if minute < 20 or minute >= 50:
        return None
    return (122.0, 84.0) if minute < 40 else (190.0, 120.0)


def night(spider: Spider, guests: list[Guest], *, seed: int) -> Bins:
    collector = Collector(Grid(0, 0, ROWS, COLUMNS, (2.0, 2.0), SHELL), start=START, hours=MINUTES / 60)
    for frame in frames(guests, minutes=MINUTES, seed=seed):
        place = spider((frame.at - START) / 60)
        luma = frame.luma.copy()
        if place is not None:
            body = np.zeros(luma.shape, np.float32)
            cv2.ellipse(body, (round(place[0]), round(place[1])), (15, 9), 0, 0, 360, (255.0,), -1)
            glow = cv2.GaussianBlur(body, (0, 0), 4)
            luma = np.maximum(luma, np.maximum(glow, np.where(body > 0, 252, 0))).astype(np.uint8)
        collector.add(replace(frame, luma=luma))
    return collector.finish()


def copied(bins: Bins) -> Bins:
    return replace(bins, median=bins.median.copy(), energy=bins.energy.copy())


def bin_at(bins: Bins, minute: float) -> int:
    return int(np.searchsorted(bins.times, START + 60 * minute))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_ground_and_the_animal_stand_where_the_spider_hung(seed: int) -> None:
    struck, plain = (night(spider, [FEMALE], seed=seed) for spider in (crossing, lambda _: None))
    mended = without_glare(copied(struck))
    for minute in (25, 35, 45):
        k = bin_at(plain, minute)
        worst = float(np.abs(struck.median[k].astype(float) - plain.median[k]).max())
        left = float(np.abs(mended.median[k].astype(float) - plain.median[k]).max())
        assert worst > 150
        assert left < 40  # a gain that pumps by 5 % and noise of 4 levels


def test_where_it_hung_is_told_half_minute_by_half_minute() -> None:
    mended = without_glare(night(crossing, [], seed=4))
    assert mended.glare is not None
    over, beside = (84 // CELL, 122 // CELL), (120 // CELL, 190 // CELL)
    assert mended.glare[bin_at(mended, 30)][over]
    assert not mended.glare[bin_at(mended, 45)][over]
    assert mended.glare[bin_at(mended, 45)][beside]
    assert not mended.glare[: bin_at(mended, 19)].any()
    assert not mended.glare[bin_at(mended, 51) :].any()


def test_its_coming_and_going_no_longer_stirs() -> None:
    struck = night(crossing, [], seed=5)
    mended = without_glare(copied(struck))
    k = bin_at(struck, 40)
    cell = (84 // CELL, 122 // CELL)
    assert struck.energy[k - 1 : k + 2, *cell].max() > 20 * np.median(struck.energy[:, *cell])
    assert mended.energy[k - 1 : k + 2, *cell].max() < 3 * np.median(mended.energy[:, *cell])


def test_what_is_white_all_night_stays_as_it_is() -> None:
    """A white stone; and a lamp that lights a third of the window, which is a finding of its own."""
    stone = night(lambda _: (60.0, 40.0), [], seed=6)
    assert without_glare(stone) is stone
    lamp = night(lambda _: None, [], seed=6)
    lamp.median[20:40, :, :120] = 250
    assert without_glare(lamp) is lamp


def test_a_night_without_glare_and_one_without_pictures_come_back_as_they_are() -> None:
    plain = bins_of([FEMALE], minutes=20, seed=7)
    assert without_glare(plain) is plain
    nothing = plain.only(np.zeros(len(plain.times), np.bool_))
    assert without_glare(nothing) is nothing


def test_what_moved_before_the_lens_is_no_visitor() -> None:
    mended = without_glare(night(crossing, [], seed=8))
    spider, other = (
        Blob(START + 60 * 30, row, column, 500, 20, 40, 60) for row, column in ((84, 122), (20, 20))
    )
    later = replace(spider, at=START + 60 * 55)
    assert outside_glare([spider, other, later], mended) == [other, later]
    assert outside_glare([spider], bins_of([], minutes=40, seed=8)) == [spider]


def test_part_of_the_zone_is_burnt_white_while_it_hangs_there_and_only_then() -> None:
    """And the patch behind it counts as not seen."""
    bins = without_glare(night(crossing, [], seed=9))
    health = examine(bins, np.ones((ROWS, COLUMNS), np.bool_))
    (finding,) = health.findings
    assert finding.what == "burnt"
    assert finding.start.timestamp() == pytest.approx(START + 60 * 20, abs=60)
    assert finding.end.timestamp() == pytest.approx(START + 60 * 50, abs=60)
    share = health.zone_share()
    assert share[bin_at(bins, 30)] < 0.97
    assert share[bin_at(bins, 10)] == pytest.approx(1.0)
