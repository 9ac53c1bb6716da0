"""A record tallied: what counts as what, published sums, and what was looked at."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from nestwatch.errors import RecordError
from nestwatch.season.by_hand import HandDig, add_dig
from nestwatch.season.clutches import change_clutch
from nestwatch.season.digs import dig_called
from nestwatch.season.open import Record
from nestwatch.season.records import Eggs
from nestwatch.season.tally.records import Hatch, Season
from nestwatch.season.tally.season import season_of
from nestwatch.season.watched import add_watched
from nestwatch.site.records import Site
from tests.export.seasons import a_season, dig, footage
from tests.season.tally.seasons import a_record, a_site, found, nest, scan

JUNE = date(2026, 6, 12)


@pytest.fixture
def site(tmp_path: Path) -> Site:
    return a_site(tmp_path)


@pytest.fixture
def record(site: Site) -> Iterator[Record]:
    with a_record(site) as opened:
        yield opened


def kinds(season: Season) -> dict[str, str]:
    return {each.label: each.kind for each in season.attempts}


def test_what_a_dig_counts_as(record: Record, site: Site) -> None:
    """By the find, else by the call; a rest is no attempt until eggs are found there."""
    calls = ("nest", "nest", "nest", "nest", "nest", "trial", "unclear", "rest", "rest", "rest")
    scan(record, site, JUNE, [dig(n, f"{JUNE}", f"{17 + n // 3}:{n % 3}0", f"{17 + n // 3}:{n % 3}8", call)
                              for n, call in enumerate(calls, start=1)])  # fmt: skip
    found(record, site, JUNE, "1", "eggs", eggs=Eggs(whole=9))
    found(record, site, JUNE, "2", "empty")
    found(record, site, JUNE, "3", "set-aside", why="a hedgehog")
    found(record, site, JUNE, "4", "not-yet")
    found(record, site, JUNE, "9", "eggs", eggs=Eggs(whole=5))
    found(record, site, JUNE, "10", "set-aside", why="she only sat there")
    season = season_of(record, site, 2026)
    assert kinds(season) == {
        "1": "nest", "2": "trial", "3": "false", "4": "open", "5": "open", "6": "trial", "7": "open",
        "9": "nest",
    }  # fmt: skip
    total = season.total
    assert (total.attempts, total.nests, total.trials, total.open) == (7, 2, 2, 3)
    assert total.hatch == Hatch(14, 0, 0, 0, 0, 0)
    seen = season.performance
    assert seen.missed == ((JUNE, "9"),), "called rest, and eggs were there"
    assert seen.false == ((JUNE, "2"), (JUNE, "3"))
    assert (seen.recall.count, seen.recall.of) == (1, 2)
    assert (seen.precision.count, seen.precision.of, seen.unsettled) == (1, 3, 2)
    assert seen.false_per_night == 2


def test_digs_by_hand_and_of_an_earlier_scan(record: Record, site: Site) -> None:
    """A dig that a later scan does not list keeps its find; without one only a call of nest stays open."""
    times = (("19:00", "19:30"), ("20:00", "20:30"), ("21:00", "21:30"), ("22:00", "22:30"))
    calls = ("nest", "nest", "trial", "nest")
    digs = [dig(n, f"{JUNE}", *times[n - 1], calls[n - 1]) for n in range(1, 5)]
    scan(record, site, JUNE, digs)
    found(record, site, JUNE, "1", "eggs")
    scan(record, site, JUNE, [{**digs[3], "rank": 1}])
    at = [datetime(2026, 6, 12, hour, 0, tzinfo=UTC) for hour in (16, 17, 22, 23)]
    add_dig(record, site, JUNE, HandDig("eye", at[0], at[1], pen="sand pen", plan_m=(0.2, 2.8)))
    add_dig(record, site, JUNE, HandDig("found", at[2], at[3], pen="sand pen", plan_m=(0.2, 0.2)))
    found(record, site, JUNE, "E", "eggs", eggs=Eggs(whole=7))
    season = season_of(record, site, 2026)
    assert kinds(season) == {"A": "nest", "B": "open", "D": "open", "E": "nest", "1": "open"}, (
        "A to C were in the first scan only: A has eggs, B was called a nest, C a trial"
    )
    assert season.performance.missed == ((JUNE, "E"),), "an earlier scan had listed A"
    assert {each.label: each.source for each in season.attempts}["E"] == "found"
    assert season.total.hatch.eggs == 7
    assert "1 clutch not counted, so there are at least so many eggs." in season.notes


def test_likelihoods_are_as_built(record: Record, site: Site) -> None:
    """A fit to this site must not be judged by what it was fitted to."""
    fitted = {**dig(1, f"{JUNE}", "21:00", "22:00"), "likelihood": 0.4, "likelihood_as_built": 0.8}
    scan(record, site, JUNE, [fitted, dig(2, f"{JUNE}", "23:00", "23:30")])
    assert [each.likelihood for each in season_of(record, site).attempts] == [0.8, 0.63]


def test_published_eggs_a_nest(record: Record, site: Site) -> None:
    """373 eggs in 33 nests are 11.30 a nest (Najbar & Szuszkiewicz 2005, Acta Zool. Cracov. 48A: 11-19)."""
    for k in range(33):
        nest(record, site, date(2026, 5, 24) + timedelta(days=k), 11 if k < 23 else 12)
    total = season_of(record, site, 2026).total
    assert (total.nests, total.hatch.eggs) == (33, 373)
    assert round((total.hatch.eggs or 0) / total.nests, 2) == 11.30


def test_published_hatching(record: Record, site: Site) -> None:
    """210 of 392 eggs hatched: 53.57 % (the same; the abstract prints 53.58)."""
    for k in range(28):
        outcomes = {
            "alive": 7 if k < 14 else 8,
            "infertile": 4,
            "dead-in-shell": 2,
            "lost": 1 if k < 14 else 0,
        }
        nest(record, site, date(2026, 5, 24) + timedelta(days=k), 14, outcomes=outcomes)
    total = season_of(record, site, 2026).total
    assert (total.hatch.alive, total.hatch.settled) == (210, 392)
    assert 100 * (total.hatched.share or 0) == pytest.approx(53.57, abs=0.005)


def test_pending_eggs_are_not_among_the_settled(record: Record, site: Site) -> None:
    nest(record, site, JUNE, 9, outcomes={"alive": 2, "lost": 1, "pending": 4})
    season = season_of(record, site, 2026)
    assert season.total.hatch == Hatch(9, 2, 0, 0, 1, 4)
    assert (season.total.hatched.count, season.total.hatched.of) == (2, 3)
    assert "2 eggs counted but put into no box: what became of them is not on record." in season.notes


def test_what_was_looked_at(site: Site) -> None:
    """47 nights from 15 May to 30 June; two scanned, one watched by eye, and so 44 not seen."""
    with a_season(site) as record:
        season = season_of(record, site)
    nights = season.nights
    assert nights.season == (date(2026, 5, 15), date(2026, 6, 30))
    assert (nights.expected, nights.scanned, nights.dark, nights.watched, nights.unseen) == (47, 2, 0, 1, 44)
    assert len(nights.unseen_nights) == 44
    assert not {date(2026, 6, 12), date(2026, 6, 13), date(2026, 6, 14)} & set(nights.unseen_nights)
    assert nights.expected_h == 47 * 9, "two cameras look at one pen"
    assert nights.read_h == 18
    by_name = {each.camera: each for each in nights.cameras}
    assert (by_name["sandbank"].nights, by_name["sandbank"].read_h) == (2, 18)
    assert (by_name["shed side"].nights, by_name["shed side"].read_h) == (0, 0), (
        "off all night, then not there"
    )
    assert kinds(season) == {"1": "nest", "2": "trial", "3": "open", "A": "open"}
    assert [each.seen for each in season.attempts] == [True, True, True, False]
    assert any(
        note.startswith("1 attempt lies in nights in which no camera saw that pen") for note in season.notes
    )
    assert [(nest.year, nest.label) for nest in season.nests] == [(2026, "1")]


def test_hours_of_the_night_leave_out_the_gaps(record: Record, site: Site) -> None:
    """A camera off from 22:00 to 22:30 and from 01:00 on: 6.5 of 9 hours; the other one was off all night."""
    gaps = [("2026-06-12T22:00:00+02:00", "2026-06-12T22:30:00+02:00"),
            ("2026-06-13T01:00:00+02:00", "2026-06-13T09:00:00+02:00")]  # fmt: skip
    off = [("2026-06-12T16:00:00+02:00", "2026-06-13T09:00:00+02:00")]
    cameras = [footage("2026-06-12", "2026-06-13", "sandbank", gaps),
               footage("2026-06-12", "2026-06-13", "shed side", off)]  # fmt: skip
    cameras[0]["nesting_seconds_read"] = 6.5 * 3600
    scan(record, site, JUNE, [dig(1, f"{JUNE}", "23:40", "23:58")], cameras)
    season = season_of(record, site)
    hours = {row.name: row for row in season.groups["hour"]}
    assert list(hours) == ["18:00", "19:00", "20:00", "21:00", "22:00", "23:00", "00:00", "01:00", "02:00"]
    assert [row.hours for row in hours.values()] == pytest.approx([1, 1, 1, 1, 0.5, 1, 1, 0, 0])
    assert [row.nights for row in hours.values()] == [1, 1, 1, 1, 1, 1, 1, 0, 0]
    assert season.nights.read_h == 6.5
    assert hours["23:00"].attempts == 1


def test_a_dim_night_is_dark(record: Record, site: Site) -> None:
    """Nine hours were read, but only 20 minutes of them were clear enough to judge."""
    camera = {**footage("2026-06-12", "2026-06-13", "sandbank"), "looked_min": 20.0}
    scan(record, site, JUNE, [], [camera])
    nights = season_of(record, site).nights
    assert (nights.scanned, nights.dark) == (1, 1)
    assert JUNE in nights.unseen_nights
    assert nights.read_h == pytest.approx(1 / 3)


def test_a_dark_night_that_was_watched_is_not_unseen(record: Record, site: Site) -> None:
    scan(record, site, JUNE, [], [{**footage("2026-06-12", "2026-06-13", "sandbank"), "looked_min": 0.0}])
    start = datetime(2026, 6, 12, 19, 0, tzinfo=UTC)
    add_watched(record, site, JUNE, start, start + timedelta(hours=3))
    nights = season_of(record, site).nights
    assert (nights.dark, nights.watched) == (1, 1)
    assert JUNE not in nights.unseen_nights


def test_nights_out_of_season_are_told_apart(record: Record, site: Site) -> None:
    nest(record, site, date(2026, 8, 2), 6)
    season = season_of(record, site)
    assert (season.nights.expected, season.nights.scanned, season.nights.out_of_season) == (67, 0, 1)
    assert season.total.nights == 1, "and yet it was seen"
    assert season.performance.false_per_night == 0


def test_without_a_nesting_season_the_record_is_the_season(record: Record, site: Site) -> None:
    bare = replace(site, animal=replace(site.animal, nesting_season=None))
    for day in (10, 14):
        scan(record, bare, date(2026, 6, day))
    season = season_of(record, bare)
    assert season.nights.season == (date(2026, 6, 10), date(2026, 6, 14))
    assert (season.nights.expected, season.nights.unseen) == (5, 3)
    assert season.notes[0].startswith("The site file names no nesting season")


def test_a_season_that_has_still_to_begin(tmp_path: Path) -> None:
    site = a_site(tmp_path)
    with a_record(site, datetime(2026, 4, 20, 10, 0, tzinfo=UTC)) as record:
        scan(record, site, date(2026, 4, 18))
        nights = season_of(record, site).nights
    assert (nights.expected, nights.unseen, nights.out_of_season) == (0, 0, 1)
    assert nights.season[1] < nights.season[0]


def test_a_dig_by_hand_before_the_season_is_counted_though_no_night_is(tmp_path: Path) -> None:
    site = a_site(tmp_path)
    at = datetime(2026, 4, 18, 19, 0, tzinfo=UTC)
    with a_record(site, datetime(2026, 4, 20, 10, 0, tzinfo=UTC)) as record:
        add_dig(record, site, date(2026, 4, 18), HandDig("eye", at, at + timedelta(hours=1)))
        season = season_of(record, site)
    assert (season.total.attempts, season.total.nights, season.total.hours) == (1, 0, 0)
    assert season.performance.false_per_night is None


def test_cameras_that_the_site_has_no_more(record: Record, site: Site) -> None:
    after = JUNE + timedelta(days=1)
    scan(record, site, JUNE, [], [footage(f"{JUNE}", f"{after}", "old one")])
    season = season_of(record, site)
    (row,) = [row for row in season.groups["pen"] if row.name is None]
    assert (row.hours, row.nights) == (9, 1)
    assert "Not in the site file any more, so counted without pen and zone: old one." in season.notes


def test_two_pens_are_looked_at_apart(tmp_path: Path) -> None:
    site = a_site(tmp_path)
    second = replace(site.pens[0], name="upper pen")
    cameras = (site.cameras[0], replace(site.cameras[1], pen="upper pen"))
    site = replace(site, pens=(*site.pens, second), cameras=cameras)
    after = JUNE + timedelta(days=1)
    dim = {**footage(f"{JUNE}", f"{after}", "shed side"), "looked_min": 30.0}
    with a_record(site) as record:
        scan(
            record,
            site,
            JUNE,
            [dig(1, f"{JUNE}", "21:00", "22:00")],
            [footage(f"{JUNE}", f"{after}", "sandbank"), dim],
        )
        start = datetime(2026, 6, 12, 19, 0, tzinfo=UTC)
        add_dig(record, site, JUNE, HandDig("eye", start, start + timedelta(hours=1), pen="upper pen"))
        season = season_of(record, site)
    pens = {row.name: row for row in season.groups["pen"]}
    assert (pens["sand pen"].hours, pens["upper pen"].hours) == (9, 0.5)
    assert (pens["sand pen"].nights, pens["upper pen"].nights) == (1, 0)
    assert (pens["sand pen"].seen, pens["upper pen"].seen) == (1, 0)
    assert season.nights.expected_h == 67 * 18
    assert season.nights.read_h == 9.5
    assert pens["sand pen"].per_ten_hours == pytest.approx(10 / 9)
    assert pens["upper pen"].per_ten_hours == 0


def test_laying_by_the_keepers_word_gives_the_hour(record: Record, site: Site) -> None:
    """00:30 belongs to the night of the evening before, and to its week; Monday of 14 June is the 8th."""
    sunday = date(2026, 6, 14)
    scan(record, site, sunday, [dig(1, f"{sunday}", "23:10", "23:58")])
    found(record, site, sunday, "1", "eggs", eggs=Eggs(whole=9))
    laid = datetime(2026, 6, 14, 22, 30, tzinfo=UTC)
    change_clutch(record, site, dig_called(record, sunday, "1"), {"laid_at": laid})
    (attempt,) = season_of(record, site).attempts
    assert (attempt.at, attempt.hour, attempt.night, attempt.week) == (laid, 0, sunday, date(2026, 6, 8))


def test_nothing_of_a_year(record: Record, site: Site) -> None:
    with pytest.raises(RecordError, match="holds no night yet, so there is no season to tally"):
        season_of(record, site)
    scan(record, site, JUNE)
    with pytest.raises(RecordError, match="holds no night of 2024; it has 2026: choose one with --year"):
        season_of(record, site, 2024)
