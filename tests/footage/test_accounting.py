"""Gaps and read time fill the night exactly, whatever the recordings; pure arithmetic, no files."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nestwatch.footage.account import Seen, account_of, damage, without
from nestwatch.footage.cover import Piece, joined, pieces
from nestwatch.footage.layout import jump_limit, spans_of
from nestwatch.footage.plan import LONG_S, plan
from nestwatch.footage.records import Footage, Recording

ZERO = datetime(2026, 6, 12, 14, tzinfo=UTC)
T0 = ZERO.timestamp()
NIGHT_S = 1000


def recording(start: float, *spans: tuple[float, float], cut: str = "", name: str = "a.mp4") -> Recording:
    """`spans` in seconds since its start."""
    begin = ZERO + timedelta(seconds=start)
    end = begin + timedelta(seconds=spans[-1][1])
    none = np.zeros(0)
    return Recording(
        "video", (Path("/pond") / name,), begin, end, 16, 12, "h264", 15.0, none, none, False,
        spans=np.array(spans, float), cut=cut,
    )  # fmt: skip


def footage(*recordings: Recording) -> Footage:
    end = ZERO + timedelta(seconds=NIGHT_S)
    return Footage("pond", Path("/pond"), ZERO, end, recordings, (), (), 16, 12, (1.0, 1.0))


WHOLE = st.integers(0, 200)


@st.composite
def recordings(draw: st.DrawFn) -> Recording:
    start = draw(st.integers(-300, NIGHT_S + 100))
    ends = sorted(draw(st.sets(st.integers(1, 400), min_size=2, max_size=6)))
    ends = ends[: len(ends) // 2 * 2]
    spans = [(float(a), float(b)) for a, b in zip(ends[::2], ends[1::2], strict=True)]
    return recording(start, *spans)


@given(st.lists(recordings(), max_size=8))
@settings(max_examples=200, deadline=None)
def test_pieces_cover_the_union_once(drawn: list[Recording]) -> None:
    """Against a second by second count."""
    found = pieces(drawn, T0, T0 + NIGHT_S)
    count = np.zeros(NIGHT_S, int)
    for piece in found:
        count[round(piece.start - T0) : round(piece.end - T0)] += 1
    expected = np.zeros(NIGHT_S, int)
    for one in drawn:
        zero = round(one.start.timestamp() - T0)
        for a, b in one.spans.tolist():
            expected[max(0, zero + int(a)) : max(0, zero + int(b))] = 1
    np.testing.assert_array_equal(count, expected)
    assert [piece.start for piece in found] == sorted(piece.start for piece in found)


@given(st.lists(recordings(), max_size=8), st.data())
@settings(max_examples=200, deadline=None)
def test_gaps_and_read_time_fill_the_night_exactly(drawn: list[Recording], data: st.DataObject) -> None:
    of = footage(*drawn)
    seen = [Seen(piece) for piece in pieces(drawn, T0, T0 + NIGHT_S)]
    for one in seen:
        inside = st.floats(one.piece.start, one.piece.end, exclude_max=True)
        one.times = sorted(data.draw(st.sets(inside, max_size=5)))
        one.failed = sorted(data.draw(st.sets(inside, max_size=3)))
    account = account_of(of, seen, 10.0)
    edges = [of.start, *(edge for gap in account.gaps for edge in (gap.start, gap.end)), of.end]
    assert edges == sorted(edges)
    unseen = sum((gap.end - gap.start).total_seconds() for gap in account.gaps)
    assert account.seconds_read + unseen == pytest.approx(account.seconds_expected, abs=1e-3)
    assert all(gap.why and gap.end > gap.start for gap in account.gaps)


def reasons(*drawn: Recording) -> list[str]:
    seen = [Seen(piece, [piece.start]) for piece in pieces(drawn, T0, T0 + NIGHT_S)]
    return [gap.why for gap in account_of(footage(*drawn), seen, 10.0).gaps]


def test_reasons() -> None:
    paused = recording(0, (0, 100), (300, 500))
    assert reasons(paused) == [
        "recording a.mp4 shows nothing here (its timestamps jump)",
        "no recording",
    ]
    cut = recording(0, (0, 100), cut="cut off after 1 min 40 s", name="b.mkv")
    assert reasons(cut) == ["recording b.mkv ends early (cut off after 1 min 40 s)"]
    assert reasons() == ["no recording"]


def test_the_later_recording_wins_but_one_inside_a_longer_does_not() -> None:
    long, inner, later = recording(0, (0, 100)), recording(20, (0, 10)), recording(80, (0, 100))
    assert pieces([long, inner, later], T0, T0 + NIGHT_S) == [
        Piece(T0, T0 + 80, 0),
        Piece(T0 + 80, T0 + 180, 2),
    ]


def test_one_inside_fills_a_pause_of_the_longer() -> None:
    long, inner = recording(0, (0, 100), (200, 300)), recording(90, (0, 60))
    assert pieces([long, inner], T0, T0 + NIGHT_S) == [
        Piece(T0, T0 + 100, 0),
        Piece(T0 + 100, T0 + 150, 1),
        Piece(T0 + 200, T0 + 300, 0),
    ]


def test_damage_needs_distance() -> None:
    piece = Piece(0.0, 100.0, 0)
    assert damage(Seen(piece, [0.0, 4.0, 10.0], [8.0]), 10.0) == []
    assert damage(Seen(piece, [0.0, 4.0, 50.0, 95.0], [8.0, 12.0]), 10.0) == [(8.0, 50.0)]
    assert damage(Seen(piece, [], [8.0]), 10.0) == [(0.0, 100.0)]
    assert damage(Seen(piece, [0.0, 50.0]), 10.0) == []


def test_stretches() -> None:
    assert without([(0, 10), (20, 30)], [(5, 22)]) == [(0, 5), (22, 30)]
    assert joined([(0, 10), (11, 20), (23, 30)], 2.0) == [(0, 20), (23, 30)]


def test_spans_end_one_frame_after_the_last() -> None:
    times = np.r_[np.arange(0, 10, 0.5), np.arange(60, 65, 0.5)]
    np.testing.assert_allclose(spans_of(times), [[0, 10], [60, 65]])
    np.testing.assert_allclose(
        spans_of(np.arange(0, 100, 10.0)), [[0, 100]]
    )  # a slow time-lapse does not jump
    assert spans_of(np.zeros(0)).shape == (0, 2)
    assert jump_limit(float("nan")) == jump_limit(0.05) == 2.0


def visited(keys: list[float], start: float, end: float, every_s: float) -> list[float]:
    return [visit.key for visit in plan(np.array(keys), start, end, every_s)]


def test_plan_takes_the_nearest_key_to_each_step() -> None:
    assert visited([0, 2, 4, 6, 8, 10], 0, 12, 4) == [0, 4, 8, 10]
    assert visited([0, 2.5, 5, 7.5, 10], 0, 12.5, 4) == [0, 5, 10]
    assert visited([0, 3, 6, 9], 0, 12, 4) == [0, 3, 6, 9]
    assert visited([0, 16, 32], 0, 48, 4) == [0, 16, 32]


def test_plan_decodes_on_where_keys_are_too_far_apart() -> None:
    visits = plan(np.array([0.0, 10.0, 10 + LONG_S + 5]), 0, 50, 4)
    assert [(visit.key, visit.until) for visit in visits] == [(0, None), (10, 35.5), (35.5, None)]
    assert [(visit.key, visit.start, visit.until) for visit in plan(np.zeros(0), 5, 60, 4)] == [(5, 5, 60)]


def test_plan_looks_before_the_first_key_of_a_stretch() -> None:
    """The night begins at 8 s, the key frames lie at 0 and 16 s: something of 8-16 s must be seen."""
    visits = plan(np.array([0.0, 16.0]), 8, 32, 4)
    assert (visits[0].key, visits[0].start) == (0, 8)
    assert [visit.key for visit in visits[1:]] == [16]


@given(st.lists(st.floats(0.1, 60), min_size=1, max_size=60), st.floats(0.5, 20))
@settings(deadline=None)
def test_plan_leaves_no_key_out_that_is_needed(distances: list[float], every_s: float) -> None:
    """Between visits never more than one and a half steps, or one key distance where that is longer."""
    keys = np.cumsum([0.0, *distances])
    end = float(keys[-1]) + 1.0
    visits = plan(keys, 0.0, end, every_s)
    times = [visit.key for visit in visits]
    assert times == sorted(set(times))
    longest = max(distances)
    for before, after in pairwise(visits):
        if before.until is None:
            assert after.key - before.key <= max(1.5 * every_s, longest) + 1e-9
