"""Health findings on invented half hours with a known fault, and none where nothing is wrong."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from nestwatch.footage.records import SkimFrame
from nestwatch.ground.clarity import measure_clarity, patch_shape
from nestwatch.ground.collect import Collector
from nestwatch.ground.health import examine
from nestwatch.ground.health_records import Finding, Health
from nestwatch.ground.health_view import conditions
from nestwatch.ground.records import Bins, Grid
from tests.ground.scenes import COLUMNS, ROWS, SHELL, START, STEP_S, Guest, bins_of, soil

Picture = NDArray[np.float32]
Fault = Callable[[Picture], Picture]
MINUTES = 90.0
FROM, TO = 40.0, 62.0
EVERYWHERE = np.ones((ROWS, COLUMNS), np.bool_)


def night(
    fault: Fault,
    *,
    seed: int,
    noise: float = 4.0,
    first: float = FROM,
    last: float = TO,
    repeat: bool = False,
) -> Bins:
    """Ninety minutes of textured ground with a slow gain; `fault` changes the picture from minute `first` to
    `last`. `repeat`: the frame of that minute, noise and all, comes again and again."""
    rng = np.random.default_rng(seed)
    ground = soil(rng)
    collector = Collector(
        Grid(0, 0, ROWS, COLUMNS, (2.0, 2.0), SHELL), start=START, hours=MINUTES / 60, step_s=30.0
    )
    held: NDArray[np.uint8] | None = None
    for i in range(int(MINUTES * 60 / STEP_S)):
        minute = i * STEP_S / 60
        wrong = first <= minute < last
        picture = ground * (1 + 0.05 * np.sin(minute / 15))
        picture = (fault(picture) if wrong else picture) + rng.normal(0, noise, ground.shape)
        luma = np.clip(picture, 16, 235).astype(np.uint8)
        held = (luma if held is None else held) if wrong and repeat else None
        collector.add(SkimFrame(START + 60 * minute, luma if held is None else held, 0.3, STEP_S, 0))
    return collector.finish()


def fog(picture: Picture) -> Picture:
    return np.asarray(0.2 * picture + 0.8 * 120, np.float32)


def blur(picture: Picture) -> Picture:
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), 4.0), np.float32)


def no_lamp(picture: Picture) -> Picture:
    return np.asarray(16 + 0.02 * (picture - 16), np.float32)


def no_lamp_gain_up(picture: Picture) -> Picture:
    """Nothing but amplified noise over a raised black."""
    rng = np.random.default_rng(int(picture.sum()) % 1000)
    return np.asarray(45 + rng.normal(0, 12, picture.shape), np.float32)


def glare(picture: Picture) -> Picture:
    return np.asarray(picture + 200, np.float32)


def web(picture: Picture) -> Picture:
    """A bright smear over the left third, as of something thin close to the lens."""
    share = np.clip((90 - np.arange(COLUMNS)) / 20, 0, 1).astype(np.float32)[None, :] * 0.85
    return np.asarray(picture * (1 - share) + 170 * share, np.float32)


def drops(picture: Picture) -> Picture:
    """Water on the glass: part of the picture smeared, not brighter."""
    share = np.zeros(picture.shape, np.float32)
    for x, y in ((60, 50), (110, 60), (80, 95)):
        cv2.circle(share, (x, y), 30, (1.0,), -1)
    return np.asarray(picture * (1 - share) + cv2.GaussianBlur(picture, (0, 0), 8) * share, np.float32)


def specks(picture: Picture) -> Picture:
    """Dew on part of the ground: bright points that stay where they are."""
    rng = np.random.default_rng(77)
    points = np.zeros(picture.shape, np.float32)
    points[rng.integers(0, ROWS, 500), rng.integers(0, COLUMNS // 3, 500)] = 310
    return np.asarray(picture + cv2.GaussianBlur(points, (0, 0), 1.5), np.float32)


def knock(picture: Picture) -> Picture:
    matrix = np.array([[1, 0, 5.0], [0, 1, -3.0]], np.float32)
    moved = cv2.warpAffine(picture, matrix, (COLUMNS, ROWS), borderMode=cv2.BORDER_REFLECT)
    return np.asarray(moved, np.float32)


def minute_of(at: datetime) -> float:
    return (at.timestamp() - START) / 60


def minutes_of(finding: Finding) -> tuple[float, float]:
    """Its first and last minute."""
    return minute_of(finding.start), minute_of(finding.end)


def share_in(health: Health, bins: Bins, first: float, last: float) -> float:
    """Mean share of the zone judged from one minute to the other."""
    minutes = (bins.times - START) / 60
    return float(health.zone_share()[(minutes >= first) & (minutes < last)].mean())


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize(
    ("fault", "what"),
    [
        (fog, "fogged"),
        (blur, "blurred"),
        (no_lamp, "dark"),
        (no_lamp_gain_up, "dark"),
        (glare, "glare"),
        (web, "covered"),
        (drops, "covered"),
    ],
)
def test_a_fault_is_named_and_timed(fault: Fault, what: str, seed: int) -> None:
    found = examine(night(fault, seed=seed), EVERYWHERE).findings
    assert [finding.what for finding in found] == [what]
    assert minutes_of(found[0]) == pytest.approx((FROM, TO), abs=2.0)


@pytest.mark.parametrize("fault", [fog, no_lamp, no_lamp_gain_up, glare])
def test_what_cannot_be_judged_is_not_counted_as_seen(fault: Fault) -> None:
    bins = night(fault, seed=3)
    health = examine(bins, EVERYWHERE)
    assert share_in(health, bins, FROM + 1, TO - 1) < 0.05
    assert share_in(health, bins, 0, FROM - 1) > 0.99
    assert share_in(health, bins, TO + 1, MINUTES) > 0.99


@pytest.mark.parametrize(
    ("fault", "blind"), [(no_lamp, True), (no_lamp_gain_up, True), (fog, False), (drops, False)]
)
def test_only_what_shows_no_ground_at_all_is_kept_from_the_search(fault: Fault, blind: bool) -> None:
    """In fog a digging animal may still be made out: it is not counted as seen, but it is looked for."""
    bins = night(fault, seed=3)
    minutes = (bins.times - START) / 60
    held = examine(bins, EVERYWHERE).blind
    assert (held[(minutes > FROM + 1) & (minutes < TO - 1)] == blind).all()
    assert not held[(minutes < FROM - 1) | (minutes > TO + 1)].any()
    assert len(bins.only(~held).times) == len(bins.only(~held).median) == (~held).sum()


@pytest.mark.parametrize("noise", [0.8, 4.0])
def test_a_repeated_frame_is_frozen_though_it_is_perfectly_clear(noise: float) -> None:
    bins = night(lambda picture: picture, seed=4, noise=noise, repeat=True)
    health = examine(bins, EVERYWHERE)
    assert [finding.what for finding in health.findings] == ["frozen"]
    assert minutes_of(health.findings[0]) == pytest.approx((FROM, TO), abs=1.0)
    assert share_in(health, bins, FROM + 1, TO - 1) == 0


def test_only_the_part_behind_a_web_is_not_seen() -> None:
    bins = night(web, seed=5)
    health = examine(bins, EVERYWHERE)
    columns = health.seen.shape[2]
    during = (bins.times - START > 60 * (FROM + 2)) & (bins.times - START < 60 * (TO - 2))
    assert not health.seen[during][:, :, : columns // 5].any()
    assert health.seen[during][:, :, columns // 2 :].all()
    lost = health.unseen_share(np.where(during, bins.shown_s, 0), float(bins.shown_s[during].sum()))
    assert lost[:, : columns // 5] == pytest.approx(1.0)
    assert lost[:, columns // 2 :] == pytest.approx(0.0)


def test_a_web_outside_the_zone_does_not_matter() -> None:
    zone = EVERYWHERE.copy()
    zone[:, :150] = False
    health = examine(night(web, seed=5), zone)
    assert health.findings == ()
    assert health.zone_share().min() == pytest.approx(1)


@pytest.mark.parametrize("seed", [1, 2])
def test_plain_ground_is_not_covered_because_dew_glitters_on_it_later(seed: int) -> None:
    """What dew adds for most of the night counts as usual, and the plain ground is faint beside it."""
    bins = night(specks, seed=seed, first=20.0, last=MINUTES)
    every = np.ones(patch_shape(bins), np.float32)
    assert conditions(bins, measure_clarity(bins), every).covered.any()
    health = examine(bins, EVERYWHERE)
    assert health.findings == ()
    assert health.zone_share().min() > 0.97


def test_a_knock_is_told_with_its_time_and_size_and_the_zone_is_still_seen() -> None:
    bins = night(knock, seed=6, last=MINUTES)
    health = examine(bins, EVERYWHERE)
    assert [finding.what for finding in health.findings] == ["moved"]
    assert minute_of(health.findings[0].start) == pytest.approx(FROM, abs=1.0)
    # 5 right and 3 up in skim pixels of 2 picture pixels each.
    assert health.findings[0].amount == pytest.approx(2 * np.hypot(5, 3), rel=0.15)
    assert health.zone_share().min() > 0.9


def test_a_slow_sag_is_told_apart_from_a_knock() -> None:
    bins = bins_of([], minutes=MINUTES, seed=7)
    minutes = (bins.times - START) / 60
    way = np.clip((minutes - 20) / 50, 0, 1)[:, None] * np.array([0.5, 6.0, 0.0])
    noise = np.random.default_rng(7).normal(0, 0.15, way.shape) * [1, 1, 0.02]
    bins.shift[:] = way + noise
    found = examine(bins, EVERYWHERE).findings
    assert [finding.what for finding in found] == ["sagged"]
    assert found[0].amount == pytest.approx(2 * np.hypot(0.5, 6.0), rel=0.1)
    # From a tenth to nine tenths of the way.
    assert minutes_of(found[0]) == pytest.approx((25, 65), abs=4)


def test_a_picture_that_fits_no_more_is_lost_from_then_on() -> None:
    bins = bins_of([], minutes=MINUTES, seed=8)
    after = bins.times - START >= 60 * FROM
    bins.shift[after] = np.nan
    bins.median[after] = np.roll(bins.median[after], (30, 45), axis=(1, 2))
    health = examine(bins, EVERYWHERE)
    assert [finding.what for finding in health.findings] == ["lost"]
    assert minute_of(health.findings[0].start) == pytest.approx(FROM, abs=0.6)
    assert share_in(health, bins, FROM, MINUTES) == 0


@pytest.mark.parametrize("seed", range(10, 15))
def test_animals_noise_and_gain_are_no_fault_of_the_camera(seed: int) -> None:
    guests = [
        Guest(120, 80, 40, 10, 80, works=[(15, 60)], scar=True),
        Guest(60, 100, 200, 20, 50),
        Guest(180, 40, 100, 5, 85),
    ]
    health = examine(bins_of(guests, minutes=MINUTES, seed=seed, noise=2.0 + seed % 5), EVERYWHERE)
    assert health.findings == ()
    assert health.zone_share().mean() > 0.999


def test_falling_dusk_is_no_fault() -> None:
    bins = night(lambda picture: picture, seed=9)
    dim = np.linspace(1.0, 0.25, len(bins.times))[:, None, None]
    bins.median[:] = np.clip(16 + (bins.median - 16.0) * dim, 0, 255).astype(np.uint8)
    health = examine(bins, EVERYWHERE)
    assert health.findings == ()
    assert health.zone_share().min() == pytest.approx(1)


def test_a_night_without_a_picture_has_no_findings_and_nothing_seen() -> None:
    collector = Collector(Grid(0, 0, ROWS, COLUMNS, (2.0, 2.0), SHELL), start=START, hours=1.0)
    health = examine(collector.finish(), EVERYWHERE)
    assert health.findings == ()
    assert (health.unseen_share(np.zeros(0), 3600.0) == 1).all()


def test_instants_are_utc() -> None:
    found = examine(night(fog, seed=1), EVERYWHERE).findings
    assert found[0].start.tzinfo is UTC
