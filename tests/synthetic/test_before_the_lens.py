"""Fog, webs and shadows: what stands between the lamp, the ground and the lens."""

from __future__ import annotations

from collections.abc import Callable
from math import exp, log
from typing import Any

import numpy as np
import pytest

from nestwatch.synthetic.nuisances.shadow import CELL_M, ROOM_M, Leaf, Post, Shadow
from nestwatch.synthetic.nuisances.web import Web
from nestwatch.synthetic.painter import Painter
from tests.synthetic.conftest import filmed

PainterOf = Callable[..., Painter]
START, END, MIDDLE = 2400.0, 6000.0, 4200.0
"""23:00, 00:00 and halfway, seconds after 22:20."""


def _with(painter_of: PainterOf, kind: str, **settings: Any) -> Painter:
    table = {"kind": kind, "from": "23:00", "to": "00:00", **settings}
    return painter_of(2, nuisance=[table], video__noise=0.0, animal=[], pen__plants=0)


def _first(painter: Painter, kind: type[Any]) -> Any:
    assert isinstance(painter.nuisances[0], kind)
    return painter.nuisances[0]


def test_contrast_in_fog_follows_koschmieder(painter_of: PainterOf) -> None:
    # Koschmieder 1924: contrast falls as e^(-s d); range is where 5 % is left (WMO-No. 8).
    painter = _with(painter_of, "fog", range_m=8, patchy=0, level=150)
    clear, fogged = filmed(painter, np.array([60.0, MIDDLE])).astype(float)
    rows, columns = clear.shape
    eye = painter.lens.eye
    for row in (rows - 60, rows - 110):
        part = np.s_[row - 4 : row + 4, columns // 2 - 60 : columns // 2 + 60]
        ground = painter.lens.ground([[columns / 2, row]])[0]
        far = float(np.hypot(np.hypot(*(ground - eye[:2])), eye[2]))
        # Differences of neighbours, so that the slow change of lamp and haze over the picture drops out.
        before, after = np.diff(clear[part]).ravel(), np.diff(fogged[part]).ravel()
        shown = before @ after / (before @ before)
        assert shown == pytest.approx(exp(log(0.05) * far / 8), rel=0.08)


def test_fog_thickens_to_the_middle_and_drifts(painter_of: PainterOf) -> None:
    painter = _with(painter_of, "fog", range_m=6, patchy=0.5)
    times = np.array([START + 60, START + 900, MIDDLE, MIDDLE + 20, END - 900])
    frames = filmed(painter, times).astype(float)
    # Of neighbours, which the haze's own slow unevenness leaves alone.
    spread = np.diff(frames[:, 60:], axis=2).std(axis=(1, 2))
    assert spread[0] > spread[1] > spread[2]
    assert spread[4] > spread[2]
    assert frames[2].mean() > frames[0].mean() + 20
    assert np.abs(frames[3] - frames[2]).mean() > 1


def test_a_spider_sits_then_works_to_and_fro(painter_of: PainterOf) -> None:
    painter = _with(painter_of, "web", strokes=12, sway_px=0, work_s=120, sit_s=120, size_px=30)
    web: Web = _first(painter, Web)
    rests = [k for k, bout in enumerate(web._bouts[:-1]) if bout.swing == 0]
    works = [k for k, bout in enumerate(web._bouts[:-1]) if bout.swing > 0]
    assert abs(len(rests) - len(works)) <= 1
    begin, end = web._bouts[rests[1]].start, web._bouts[rests[1] + 1].start
    still = filmed(painter, np.linspace(begin + 0.1, end - 0.1, 5))
    assert all(np.array_equal(still[0], frame) for frame in still)
    bout, after = web._bouts[works[1]], web._bouts[works[1] + 1]
    strokes = np.array([web.place(t)[1] for t in np.arange(bout.start + 0.1, after.start, 0.1)])
    crossings = np.count_nonzero(np.diff(np.sign(strokes)))
    assert crossings / 2 == pytest.approx(12 / 60 * (after.start - bout.start), abs=1)


def test_a_spider_has_its_size_and_is_bright(painter_of: PainterOf) -> None:
    painter = _with(painter_of, "web", size_px=40, blur_px=2, level=140, strands=0)
    web: Web = _first(painter, Web)
    empty, now = filmed(painter, np.array([60.0, START + 30])).astype(float)
    x, y = web.place(START + 30)[0]
    more = now - empty
    rows, columns = np.nonzero(more > 120)
    near = np.hypot(columns - x, rows - y) < 40
    assert 25 < np.ptp(columns[near]) + 1 < 60
    assert more[int(y), int(x)] > 80


def test_strands_sway(painter_of: PainterOf) -> None:
    painter = _with(painter_of, "web", size_px=0, sway_px=5)
    frames = filmed(painter, START + np.arange(60, 90, 0.5)).astype(float)
    assert (frames.std(axis=0) > 3).mean() > 0.005


def test_a_posts_shadow_has_its_length_and_creeps(painter_of: PainterOf) -> None:
    painter = _with(
        painter_of, "shadow", thrown_by="moon", height_deg=45, fall_deg_h=0, turn_deg_h=15, leaves=0
    )
    shadow: Shadow = _first(painter, Shadow)
    shadow._posts = [Post(np.array([2.0, 1.5]), 1.0, 0.1)]
    # A metre high under a light at 45 degrees throws a metre; it turns 15 degrees an hour, as the sky does.
    turn, height = shadow.light_at(MIDDLE)
    assert np.degrees(height) == pytest.approx(45)
    rows, columns = np.nonzero(shadow.mask(MIDDLE) > 127)
    places = np.stack([columns, rows], axis=1) * CELL_M + CELL_M / 2 - ROOM_M - (2.0, 1.5)
    along = places @ -np.array([np.cos(turn), np.sin(turn)])
    assert along.max() == pytest.approx(1.0, abs=0.03)
    assert along.min() == pytest.approx(0.0, abs=0.03)
    assert len(rows) * CELL_M**2 == pytest.approx(0.1, abs=0.02)
    assert np.degrees(turn - shadow.light_at(END)[0]) == pytest.approx(7.5)
    shadow._posts = []
    shadow._leaves = [Leaf(np.array([2.0, 1.5, 0.0]), 0.1)]
    # A ball under a light at 45 degrees covers an ellipse of its own area times 1 / sin 45.
    area = np.count_nonzero(shadow.mask(MIDDLE) > 127) * CELL_M**2
    assert area == pytest.approx(np.pi * 0.01 / np.sin(np.pi / 4), rel=0.1)


def test_a_shadow_takes_its_share_of_the_light_with_a_hard_edge(painter_of: PainterOf) -> None:
    painter = _with(painter_of, "shadow", thrown_by="moon", strength=0.5, posts=2, leaves=80)
    empty, now = filmed(painter, np.array([60.0, MIDDLE])).astype(float) - 16
    bright = empty > 30
    left = now[bright] / empty[bright]
    dark, open_ = np.abs(left - 0.5) < 0.04, np.abs(left - 1) < 0.04
    assert dark.mean() > 0.03
    assert open_.mean() > 0.2
    assert (dark | open_).mean() > 0.9


def test_the_sun_throws_none_under_infrared(painter_of: PainterOf) -> None:
    painter = _with(painter_of, "shadow", thrown_by="sun", posts=2)
    empty, now = filmed(painter, np.array([60.0, MIDDLE]))
    assert np.array_equal(empty, now)
