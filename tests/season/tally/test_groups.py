"""Whatever attempts and nights there are: every group adds up to the whole, nothing unknown is nought."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import get_args

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nestwatch.season.records import Call
from nestwatch.season.tally.gather import monday
from nestwatch.season.tally.groups import groups_of, hatch_of, row_of, total_of
from nestwatch.season.tally.performance import performance_of
from nestwatch.season.tally.records import Attempt, Hatch, Kind, Row, Weather
from nestwatch.season.tally.seen import Eye, SeenNight
from tests.marking.nights import a_site

FIRST = date(2026, 6, 1)
NESTING = (datetime(2026, 6, 1, 16, 0, tzinfo=UTC), datetime(2026, 6, 2, 1, 0, tzinfo=UTC))
PENS = st.sampled_from(["sand pen", "upper pen", None])
ZONES = st.sampled_from(["sand bank", "bank", None])

KINDS: tuple[Kind, ...] = get_args(Kind)
CALLS: tuple[Call | None, ...] = (*get_args(Call), None)
counts = st.integers(0, 6)
weathers = st.none() | st.builds(
    Weather, st.none() | st.floats(-5, 35, allow_nan=False), st.none() | st.floats(0, 9, allow_nan=False)
)
nights = st.integers(0, 20).map(lambda k: FIRST + timedelta(days=k))


@st.composite
def attempts(draw: st.DrawFn) -> Attempt:
    night, kind = draw(nights), draw(st.sampled_from(KINDS))
    hour = draw(st.sampled_from([18, 21, 0, 2]))
    at = datetime(night.year, night.month, night.day, hour, 20, tzinfo=UTC)
    hatch = Hatch(draw(st.none() | counts), *(draw(counts) for _ in range(5)))
    scanned = draw(st.booleans())
    call = draw(st.sampled_from(CALLS)) if scanned else None
    return Attempt(
        dig=1, night=night, label="1", kind=kind, source="scan", call=call, likelihood=None, listed=True,
        scanned=scanned, at=at, end=at, hour=hour, week=monday(night), pen=draw(PENS), zone=draw(ZONES),
        female=draw(st.sampled_from(["Ada", "berta", None])), plan_m=None, within_m=None, clutch=None,
        hatch=hatch if kind == "nest" else None, weather=None, seen=draw(st.booleans()),
    )  # fmt: skip


@st.composite
def seen_nights(draw: st.DrawFn) -> SeenNight:
    def eye(camera: str, pen: str | None) -> Eye:
        by_hour = {hour: draw(st.floats(0, 3600, allow_nan=False)) for hour in (18, 21, 0)}
        return Eye(camera, pen, frozenset({"sand bank"}), 32400.0, sum(by_hour.values()), by_hour)

    pens = draw(st.lists(PENS, min_size=1, max_size=3))
    eyes = tuple(eye(f"camera {k}", pen) for k, pen in enumerate(pens))
    return SeenNight(draw(nights), NESTING, True, True, False, eyes)


# Drawing is slow on a busy machine, and that is no fault of what is tested.
steadily = settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
many_attempts = st.lists(attempts(), max_size=8)
many_nights = st.lists(seen_nights(), max_size=5, unique_by=lambda night: night.date)


def summed(rows: tuple[Row, ...]) -> tuple[int, ...]:
    hatches = [row.hatch for row in rows]
    whole = hatch_of(hatches)
    return (
        *(
            sum(getattr(row, name) for row in rows)
            for name in ("attempts", "nests", "trials", "open", "seen")
        ),
        sum(hatch.eggs or 0 for hatch in hatches),
        *(whole.alive, whole.dead_in_shell, whole.infertile, whole.lost, whole.pending),
    )


@steadily
@given(many_attempts, many_nights, st.dictionaries(nights, weathers, max_size=8))
def test_groups_add_up_to_the_whole(
    found: list[Attempt], seen: list[SeenNight], weather: dict[date, Weather | None]
) -> None:
    total = total_of(found, seen)
    groups = groups_of(a_site(), found, seen, weather)
    told = any(each is not None for each in weather.values())
    for by, rows in groups.items():
        if rows or by not in {"temperature", "rain"}:
            assert summed(rows) == summed((total,)), by
        else:
            assert not told or not (found or seen)
        names = [row.name for row in rows]
        assert len(names) == len(set(names))
        assert None not in names[:-1], "what is not known comes last"


@steadily
@given(many_attempts, many_nights)
def test_hours_seen_add_up_to_the_whole(found: list[Attempt], seen: list[SeenNight]) -> None:
    """Of pens, hours of the clock and weeks; nights of weeks too."""
    total, groups = total_of(found, seen), groups_of(a_site(), found, seen, {})
    if not seen:
        assert total.hours == 0
        return
    for by in ("pen", "hour", "week"):
        assert sum(row.hours or 0 for row in groups[by]) == pytest.approx(total.hours), by
    assert sum(row.nights or 0 for row in groups["week"]) == total.nights
    best = sum(max(eye.usable_s for eye in night.eyes) for night in seen) / 3600
    assert total.hours is not None
    assert total.hours >= best - 1e-9, "at least the best camera of each night"


@steadily
@given(many_attempts, st.integers(0, 60))
def test_recall_and_precision_count_each_dig_once(found: list[Attempt], scanned: int) -> None:
    seen = performance_of(found, scanned)
    nests = [each for each in found if each.scanned and each.kind == "nest"]
    assert seen.recall.of == len(nests) == seen.recall.count + len(seen.missed)
    assert seen.called.of == len(nests)
    assert seen.called.count <= seen.recall.count
    assert seen.precision.count == seen.called.count, "a nest called so is right in both"
    assert seen.precision.of == seen.precision.count + len(seen.false)
    calls = sum(each.scanned and each.call == "nest" for each in found)
    assert calls == seen.precision.of + seen.unsettled
    assert (seen.false_per_night is None) == (scanned == 0)


def test_eggs_not_counted_are_not_nought() -> None:
    """Of no clutch there are no eggs; of a clutch that nobody counted it is not known how many."""
    uncounted, counted = Hatch(None, 0, 0, 0, 0, 0), Hatch(9, 0, 0, 0, 0, 0)
    assert hatch_of([]).eggs == 0
    assert hatch_of([uncounted]).eggs is None
    assert hatch_of([uncounted, counted]).eggs == 9


def test_a_row_without_a_case_has_no_rate() -> None:
    row = row_of("x", [], None)
    assert (row.hatched.share, row.hatched.low, row.nights, row.hours, row.per_ten_hours) == (None,) * 5


@pytest.mark.parametrize(
    ("units", "celsius", "name"),
    [("metric", 17.9, "15 to 18 °C"), ("metric", 18.0, "18 to 21 °C"), ("metric", -0.1, "-3 to 0 °C"),
     ("imperial", 15.0, "59 to 64.4 °F"), ("imperial", 19.0, "64.4 to 69.8 °F")],
)  # fmt: skip
def test_temperatures_in_groups_of_three_degrees(units: str, celsius: float, name: str) -> None:
    night = SeenNight(FIRST, NESTING, True, True, False, ())
    site = a_site(units=units)  # type: ignore[arg-type]
    (row,) = groups_of(site, [], [night], {FIRST: Weather(celsius, None)})["temperature"]
    assert row.name == name


@pytest.mark.parametrize(
    ("mm", "name"), [(0.0, "dry"), (0.2, "some rain"), (1.99, "some rain"), (2.0, "wet")]
)
def test_rain_in_three_groups(mm: float, name: str) -> None:
    night = SeenNight(FIRST, NESTING, True, True, False, ())
    (row,) = groups_of(a_site(), [], [night], {FIRST: Weather(None, mm)})["rain"]
    assert row.name == name
