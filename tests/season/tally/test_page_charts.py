"""What charts draw, read back from their paths: heights, lengths and places are those of the numbers."""

from __future__ import annotations

import re
from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest

from nestwatch.season.fit.records import Bin, Counts, FitState, Judged
from nestwatch.season.fit.state import state_lines
from nestwatch.season.tally.page.charts import Bar, attempt_parts, bar_charts, weeks_chart
from nestwatch.season.tally.page.drawing import SOLID, STRIPED, Part
from nestwatch.season.tally.page.fitted import fitted
from nestwatch.season.tally.page.timeline import timelines
from nestwatch.season.tally.records import FemaleSeason
from tests.season.tally.page_seasons import a_row, an_attempt

MONDAY = date(2026, 6, 1)
Sides = tuple[float, float, float, float]


def areas(svg: str, filled: str) -> list[Sides]:
    """(left, top, right, bottom) of the areas with that filling, points of the paper, the key's first."""
    found = []
    drawn = re.sub(r"<pattern.*?</pattern>", "", svg)
    for path in re.findall(rf'<path d="([^"]*)"[^>]*fill="{re.escape(filled)}', drawn):
        numbers = [float(each) for each in re.findall(r"-?\d+\.?\d*", path)]
        found.append((min(numbers[::2]), min(numbers[1::2]), max(numbers[::2]), max(numbers[1::2])))
    return found


def test_columns_are_as_high_as_their_counts() -> None:
    nights = [MONDAY, *[MONDAY + timedelta(7)] * 2, *[MONDAY + timedelta(14)] * 4]
    attempts = [an_attempt(n, night) for n, night in enumerate(nights)]
    svg = weeks_chart(attempts, (MONDAY, MONDAY + timedelta(20)), ())
    _, *columns = areas(svg, "var(--bar)")
    heights = [bottom - top for _, top, _, bottom in columns]
    assert [each / heights[0] for each in heights] == pytest.approx([1, 2, 4], abs=0.01)
    assert len({bottom for *_, bottom in columns}) == 1


def test_a_false_dig_is_in_no_column() -> None:
    attempts = [an_attempt(1, MONDAY), an_attempt(2, MONDAY + timedelta(7), "false")]
    svg = weeks_chart(attempts, (MONDAY, MONDAY + timedelta(13)), ())
    _, *columns = areas(svg, "var(--bar)")
    assert len(columns) == 1


def test_a_night_not_seen_is_a_seventh_of_its_week() -> None:
    """Three weeks; the Wednesday of the second is day 9 of 21."""
    unseen = MONDAY + timedelta(9)
    svg = weeks_chart([an_attempt(1, MONDAY)], (MONDAY, MONDAY + timedelta(20)), [unseen])
    hatched = re.findall(r'<path d="([^"]*)"[^>]*fill="url\(', svg)
    sides = [[float(each) for each in re.findall(r"-?\d+\.?\d*", path)] for path in hatched]
    (band,) = [each for each in sides if max(each[1::2]) - min(each[1::2]) > 60]
    left, right = (mm * 72 / 25.4 for mm in (8.0, 95.0))  # where the chart begins and ends
    day = (right - left) / 21
    assert min(band[::2]) == pytest.approx(left + 9 * day, abs=0.05)
    assert max(band[::2]) == pytest.approx(left + 10 * day, abs=0.05)


def test_bars_of_all_charts_have_one_scale() -> None:
    bars = [Bar(f"{n}", "", (Part("nest", SOLID, n), Part("trial dig", STRIPED, 0))) for n in range(1, 31)]
    charts = bar_charts(bars, "a")
    widths = [right - left for chart in charts for left, _, right, _ in areas(chart, "var(--bar)")[1:]]
    assert len(charts) == 3
    assert [each / widths[0] for each in widths] == pytest.approx(list(range(1, 31)), rel=0.01)


def test_a_row_is_parted_by_what_its_attempts_were() -> None:
    row = a_row("x", [an_attempt(1, MONDAY), an_attempt(2, MONDAY, "trial"), an_attempt(3, MONDAY, "open")])
    assert [(part.word, part.count) for part in attempt_parts(row)] == [
        ("nest", 1), ("trial dig", 1), ("still open", 1),
    ]  # fmt: skip


def test_looks_of_one_chart_differ_without_colour() -> None:
    parts = attempt_parts(a_row("x", []))
    assert len({(part.look.hatch, part.look.ground) for part in parts}) == len(parts)
    assert len({part.look.hatch for part in parts if part.look.ground != SOLID.ground}) == len(parts) - 1


def test_clutches_lie_on_the_line_by_their_dates() -> None:
    clutches = (MONDAY, MONDAY + timedelta(10), MONDAY + timedelta(40))
    female = FemaleSeason("Ada", clutches, 9, (10, 30), None, None, None, False, "")
    (svg,) = timelines([female], (MONDAY, MONDAY + timedelta(60)))
    marks = [float(x) for x in re.findall(r'<use href="#females0-m[^"]*" x="([\d.]+)"', svg)]
    first, second, third = marks[1:]  # the key's mark comes first
    assert (third - second) / (second - first) == pytest.approx(3, abs=0.01)


def test_the_fit_is_told_with_its_bins() -> None:
    before = Judged(0.111, (Bin(0.25, 0, 13), Bin(0.9, 9, 9)))
    state = FitState(None, Counts(21, 20, 13), 20, before, None, None, "too few finds.", ())
    shown = fitted(state, ZoneInfo("Europe/Paris"))
    assert shown.lines == tuple(state_lines(state, ZoneInfo("Europe/Paris")))
    assert shown.table is not None
    assert [row[:3] for row in shown.table.rows] == [
        ("as built", "0.25", "0 of 13"), ("as built", "0.90", "9 of 9"),
    ]  # fmt: skip
    assert [alt for alt, _ in shown.pictures] == [
        "Reliability diagram: as built: Brier score 0.111. The numbers are in the table."
    ]


def test_nothing_found_has_no_diagram() -> None:
    state = FitState(None, Counts(), 20, None, None, None, "too few finds.", ())
    assert fitted(state, ZoneInfo("Europe/Paris")).pictures == ()
