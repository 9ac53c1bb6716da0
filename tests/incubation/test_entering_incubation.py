"""Boxes, eggs, probes, readings, checks and hatchings: taken, refused or asked about; nothing lost."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from nestwatch.errors import ChangedMeanwhile, DoubtfulEntry, EntryError
from nestwatch.season import journal
from nestwatch.season.clutches import ClutchChanges, change_clutch
from nestwatch.season.digs import dig_by_id
from nestwatch.season.finds import enter_find
from nestwatch.season.incubation.checks import (
    checks,
    enter_checks,
    enter_weighing,
    water_missing,
    weighings,
)
from nestwatch.season.incubation.containers import (
    add_container,
    change_container,
    container_called,
    container_words,
    containers,
)
from nestwatch.season.incubation.eggs import egg_at, eggs, eggs_in, mark_top, move_egg, put_eggs
from nestwatch.season.incubation.growth import enter_growth, growth_of
from nestwatch.season.incubation.hatchings import hatchings, settle_egg, settle_many
from nestwatch.season.incubation.probes import enter_probe, probe_called, probes_for
from nestwatch.season.incubation.readings import batches, enter_reading, series_of, take_log
from nestwatch.season.open import Record
from nestwatch.season.records import Clutch, Eggs
from nestwatch.site.records import Site
from tests.incubation.seasons import MORNING, a_log, a_season, a_site, later

Season = tuple[Record, Clutch]


@pytest.fixture
def site(tmp_path: Path) -> Site:
    return a_site(tmp_path)


@pytest.fixture
def season(tmp_path: Path, site: Site) -> Iterator[Season]:
    record, clutch = a_season(tmp_path)
    with record:
        add_container(record, site, "A1", {"medium": "vermiculite", "incubator": "left", "start_g": 900.0})
        yield record, clutch


def test_a_box_and_its_water_by_mass(season: Season, site: Site) -> None:
    """337 g of water for 300 g of dry vermiculite is about -150 kPa (from memory, no source seen: verify)."""
    record, _ = season
    box = change_container(record, site, "a1", {"dry_g": 300.0, "water_g": 337.0, "shelf": "2"})
    assert container_words(box) == (
        "A1: vermiculite, 300 g with 337 g of water (1.12 : 1), weighed 900 g, incubator left, shelf 2"
    )
    with pytest.raises(DoubtfulEntry, match=r"33.7 g of water for 300 g of dry medium is 0.11 : 1"):
        change_container(record, site, "A1", {"water_g": 33.7})
    assert container_called(record, "A1").water_g == 337.0
    with pytest.raises(ChangedMeanwhile):
        change_container(record, site, "A1", {"shelf": "3"}, seen=1)


def test_labels_are_never_shared(season: Season, site: Site) -> None:
    record, _ = season
    with pytest.raises(EntryError, match='there is a box "A1" already; two boxes must not share a label'):
        add_container(record, site, " a1 ", {})
    add_container(record, site, "B2", {})
    with pytest.raises(EntryError, match='there is a box "A1" already'):
        change_container(record, site, "B2", {"label": "A1"})
    with pytest.raises(EntryError, match='there is no box "A11"; did you mean "A1"'):
        container_called(record, "A11")
    with pytest.raises(EntryError, match='no species profile "emis orbicularis"; did you mean'):
        add_container(record, site, "C", {"profile": "emis orbicularis"})
    assert [box.label for box in containers(record)] == ["A1", "B2"]


def test_never_more_eggs_than_were_laid(season: Season, site: Site) -> None:
    record, clutch = season
    put_eggs(record, clutch, "A1", ["a", "b"], top_marked=True)
    put_eggs(record, clutch, "A1", 6)
    assert [egg.position for egg in eggs(record)] == ["a", "b", *"123456"]
    assert [egg.top_marked for egg in eggs(record)][:3] == [True, True, None]
    with pytest.raises(EntryError, match="has 9 eggs, 8 of them in boxes already: 2 more are too many"):
        put_eggs(record, clutch, "A1", 2)
    with pytest.raises(EntryError, match='the place "A" of this box is taken'):
        put_eggs(record, clutch, "A1", ["A"])
    with pytest.raises(EntryError, match="before they are laid"):
        put_eggs(record, clutch, "A1", 1, at=clutch.laid_at - timedelta(hours=1))
    assert len(eggs(record)) == 8


def test_a_clutch_changed_later_agrees_with_its_boxes(season: Season, site: Site) -> None:
    record, clutch = season
    put_eggs(record, clutch, "A1", 5)
    dig = dig_by_id(record, clutch.dig)
    with pytest.raises(EntryError, match="5 eggs of this clutch lie in boxes, so it cannot have 4"):
        change_clutch(record, site, dig, {"whole": 4})
    with pytest.raises(EntryError, match="so it cannot have 3"):
        enter_find(record, site, dig, "eggs", eggs=Eggs(whole=3))
    later(record, hours=3)
    with pytest.raises(EntryError, match="was put into a box on 2026-06-13 07:00, before it would be laid"):
        change_clutch(record, site, dig, {"laid_at": MORNING + timedelta(hours=1)})
    change_clutch(record, site, dig, {"whole": 5, "laid_at": MORNING - timedelta(hours=2)})


def test_eggs_move_and_are_marked(season: Season, site: Site) -> None:
    record, clutch = season
    egg, other = put_eggs(record, clutch, "A1", 2)
    add_container(record, site, "B", {})
    mark_top(record, egg, True)
    assert move_egg(record, egg, "A1", "front").put_at == egg.put_at
    at = later(record, days=3)
    moved = move_egg(record, egg, "B", "x")
    assert (moved.container_label, moved.position, moved.top_marked) == ("B", "x", True)
    assert moved.put_at == at, "the readings of box B count from now on"
    with pytest.raises(EntryError, match='"X" of this box is taken'):
        move_egg(record, other, "b", "X")
    with pytest.raises(EntryError, match='box A1 has no egg at "x"; it has 2'):
        egg_at(record, container_called(record, "A1"), "x")


def test_a_find_with_eggs_in_boxes_stays_a_find(season: Season, site: Site) -> None:
    record, clutch = season
    put_eggs(record, clutch, "A1", 2)
    counts: ClutchChanges = {"whole": None}
    change_clutch(record, site, dig_by_id(record, clutch.dig), counts)
    with pytest.raises(EntryError, match="take those back first"):
        enter_find(record, site, dig_by_id(record, clutch.dig), "empty")


def test_probes_in_the_substrate_come_first(season: Season, site: Site) -> None:
    record, _ = season
    box = container_called(record, "A1")
    with pytest.raises(EntryError, match="say where the probe is"):
        enter_probe(record, "p1", {})
    enter_probe(record, "shelf", {"incubator": "LEFT", "lies": "air"})
    assert [p.name for p in probes_for(record, box)] == ["shelf"]
    enter_probe(record, "in the box", {"container": "A1", "lies": "substrate"})
    enter_probe(record, "above", {"container": "A1", "lies": "air"})
    assert [p.name for p in probes_for(record, box)] == ["in the box"]
    with pytest.raises(EntryError, match='there is no probe "shelv"; did you mean "shelf"'):
        probe_called(record, "shelv")


def test_a_file_is_taken_in_once_and_grows(season: Season, site: Site) -> None:
    """Loggers are often read out again and again without being emptied."""
    record, _ = season
    enter_probe(record, "p", {"container": "A1"})
    later(record, days=20)
    assert take_log(record, site, "p", a_log(2), "log.csv") == 48
    with pytest.raises(EntryError, match="every reading of this file is in the record already"):
        take_log(record, site, "p", a_log(2), "log.csv")
    assert take_log(record, site, "p", a_log(3), "log.csv") == 24
    with pytest.raises(DoubtfulEntry, match="72 of 96 readings differ from what the record has"):
        take_log(record, site, "p", a_log(4, 29.0), "other.csv")
    assert len(series_of(record, probe_called(record, "p")).seconds) == 72
    take_log(record, site, "p", a_log(4, 29.0), "other.csv", sure=True)
    series = series_of(record, probe_called(record, "p"))
    assert (len(series.seconds), set(series.celsius)) == (96, {29.0})
    journal.undo(record)
    assert set(series_of(record, probe_called(record, "p")).celsius) == {28.0}
    journal.undo(record, journal.actions(record)[0].id)
    assert len(series_of(record, probe_called(record, "p")).seconds) == 96, (
        "taken back and brought back whole"
    )
    assert [each.count for each in batches(record)] == [48, 96, 24]


def test_readings_in_the_wrong_unit_are_asked_about(season: Season, site: Site) -> None:
    record, _ = season
    enter_probe(record, "p", {"container": "A1"})
    with pytest.raises(DoubtfulEntry) as caught:
        enter_reading(record, site, "p", 84.0)
    assert str(caught.value) == (
        "84.0 °C is far from what is plausible (European pond turtle is kept at 27 to 30 °C; below 19 and "
        "above 38 °C is asked about). As °F it would be 28.9 °C: say --unit f; if it is so, add --sure."
    )
    with pytest.raises(DoubtfulEntry, match=r"Read as °C it would be 28\.0 °C: say --unit c"):
        take_log(record, site, "p", a_log(0.1, (28.0 - 32) / 1.8), "log.csv")
    with pytest.raises(EntryError, match="still to come"):
        enter_reading(record, site, "p", 28.0, at=MORNING + timedelta(hours=1))
    enter_reading(record, site, "p", 28.5, humidity=80)
    series = series_of(record, probe_called(record, "p"))
    assert (series.celsius.tolist(), series.humidity.tolist()) == ([28.5], [80.0])
    assert np.diff(series.seconds).size == 0


def test_checks_and_weighing(season: Season, site: Site) -> None:
    record, clutch = season
    put_eggs(record, clutch, "A1", 3)
    later(record, days=10)
    enter_checks(record, "A1", "developing", positions=("1", "2"), note="vessels")
    enter_checks(record, "A1", "sweating")
    box = container_called(record, "A1")
    assert [(c.position, c.saw) for c in checks(record, box)] == [
        ("1", "developing"),
        ("2", "developing"),
        (None, "sweating"),
    ]
    with pytest.raises(EntryError, match='no egg at "9"; it has 1, 2, 3'):
        enter_checks(record, "A1", "clear", positions=("9",))
    with pytest.raises(EntryError, match="egg 1 was put into box A1 only on 2026-06-13 07:00"):
        enter_checks(record, "A1", "clear", positions=("1",), at=MORNING - timedelta(hours=1))
    enter_weighing(record, "A1", 880.0, added_g=5.0)
    assert water_missing(box, weighings(record, box)) == pytest.approx(15.0), "900 - 880 - 5"
    with pytest.raises(DoubtfulEntry, match="weighed 900 g when it was set up, and 88 g now"):
        enter_weighing(record, "A1", 88.0)


Change = Callable[[datetime], dict[str, object]]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"outcome": "alive", "at": MORNING - timedelta(days=2)}, "cannot be settled before it was laid"),
        ({"outcome": "alive", "at": MORNING + timedelta(days=99)}, "that is still to come"),
        ({"outcome": "alive", "at": MORNING + timedelta(days=9)}, "that is only 9 days after laying"),
        ({"outcome": "alive", "mass_g": 6000.0}, "6000 g cannot be; give grams"),
        ({"outcome": "alive", "shell_mm": 2.6}, "a shell of 2.6 mm cannot be; give millimetres"),
        ({"outcome": "infertile", "mass_g": 6.0}, "has no hatchling to name or measure"),
        ({"outcome": "lost", "left_at": MORNING + timedelta(days=70)}, "does not leave the incubator"),
        ({"outcome": "hatched"}, '"hatched" is none of alive, dead-in-shell, infertile, lost'),
        ({"mass_g": 6.0}, "say what became of the egg"),
    ],
)
def test_hatchings_that_cannot_be(season: Season, changes: dict[str, object], words: str) -> None:
    record, clutch = season
    put_eggs(record, clutch, "A1", 2)
    later(record, days=70)
    with pytest.raises(EntryError) as caught:
        settle_egg(record, "A1", "1", changes)  # type: ignore[arg-type]
    assert words in str(caught.value)
    assert hatchings(record) == (), "nothing of a refused entry stays"


def test_more_hatched_than_laid(season: Season) -> None:
    record, clutch = season
    put_eggs(record, clutch, "A1", 9)
    later(record, days=60)
    settle_many(record, "A1", [("alive", 5), ("dead-in-shell", 1)])
    with pytest.raises(EntryError, match="4 eggs were told, but box A1 has only 3 left to settle"):
        settle_many(record, "A1", [("infertile", 4)])
    settle_many(record, "A1", [("infertile", 2), ("lost", 1)])
    box = container_called(record, "A1")
    assert sorted(str(egg.outcome) for egg in eggs_in(record, box)) == sorted(
        5 * ["alive"] + ["dead-in-shell"] + 2 * ["infertile"] + ["lost"]
    )
    assert {each.note for each in hatchings(record)} == {"counted; which egg was not told"}


def test_a_hatchling_is_named_leaves_and_grows(season: Season) -> None:
    record, clutch = season
    put_eggs(record, clutch, "A1", 2)
    at = later(record, days=60)
    settle_egg(record, "A1", "1", {"outcome": "alive", "mass_g": 6.1, "shell_mm": 26.0, "name": "E1"})
    with pytest.raises(EntryError, match='there is a hatchling "E1" already'):
        settle_egg(record, "A1", "2", {"outcome": "alive", "name": "e1"})
    later(record, days=67)
    left = settle_egg(record, "A1", "1", {"left_at": record.clock()}, seen=1)
    assert left.left_at == at + timedelta(days=7)
    assert left.mass_g == 6.1
    enter_growth(record, "e1", mass_g=6.4, shell_mm=27.0)
    with pytest.raises(DoubtfulEntry, match=r"E1|e1 weighed 6.4 g last, and 64 g now"):
        enter_growth(record, "e1", mass_g=64.0)
    with pytest.raises(EntryError, match="measured after it hatched"):
        enter_growth(record, "E1", mass_g=6.0, at=datetime(2026, 6, 20, tzinfo=UTC))
    assert [each.mass_g for each in growth_of(record, "E1")] == [6.4]


def test_every_entry_can_be_taken_back(season: Season) -> None:
    record, clutch = season
    put_eggs(record, clutch, "A1", 2)
    later(record, days=60)
    settle_many(record, "A1", [("alive", 2)])
    with pytest.raises(EntryError, match="cannot be taken back: later entries rest on it"):
        journal.undo(record, journal.actions(record)[1].id)
    journal.undo(record)
    journal.undo(record)
    assert (hatchings(record), eggs(record)) == ((), ())
