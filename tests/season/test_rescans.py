"""A night scanned again keeps every find attached to its dig, and says what changed."""

from __future__ import annotations

from pathlib import Path

from nestwatch.season.by_hand import HandDig, add_dig
from nestwatch.season.changes import change_lines
from nestwatch.season.digs import dig_called, digs_of, open_digs
from nestwatch.season.finds import enter_find
from nestwatch.season.journal import history
from nestwatch.season.night_view import calendar, nests_in_ground, night_of
from nestwatch.season.nights import catch_up, missing_folder
from nestwatch.season.when import instant
from tests.season.records import NIGHT, dig_entry, record_in, scanned, site_in, written_night

LATER = {"start": "22:30", "end": "23:50", "place": (0.9, 2.1)}


def test_finds_follow_their_digs_through_a_change_of_ranks(tmp_path: Path) -> None:
    with record_in(tmp_path) as record:
        scanned(record, tmp_path, [dig_entry(1), dig_entry(2, **LATER)])  # type: ignore[arg-type]
        enter_find(record, site_in(tmp_path), dig_called(record, NIGHT, "1"), "empty")
        changes = scanned(
            record,
            tmp_path,
            [
                dig_entry(1, "22:33", "23:40", (0.95, 2.1)),
                dig_entry(2, "21:20", "23:00", (2.74, 0.70)),
                dig_entry(3, "20:00", "20:40", (3.6, 2.4), "trial"),
            ],
        )
        finds = {dig.label: dig.find.found if dig.find else None for dig in digs_of(record, NIGHT)}
        moved = dig_called(record, NIGHT, "2")
    assert finds == {"1": None, "2": "empty", "3": None}
    assert (moved.rank_before, moved.plan_m) == (1, (2.74, 0.70))
    assert change_lines(changes) == [
        "Compared with what the record had of 2026-06-12: 2 digs as before, 1 new.",
        "Dig 1 is now called 2.",
        "Dig 2 is now called 1.",
    ]


def test_what_is_not_found_again_is_kept_with_its_find(tmp_path: Path) -> None:
    with record_in(tmp_path) as record:
        digs = [dig_entry(1), dig_entry(2, **LATER), dig_entry(3, "20:00", "20:40", (3.6, 2.4), "trial")]  # type: ignore[arg-type]
        scanned(record, tmp_path, digs)
        enter_find(record, site_in(tmp_path), dig_called(record, NIGHT, "2"), "eggs")
        changes = scanned(record, tmp_path, [])
        labels = {dig.label: dig.is_open for dig in digs_of(record, NIGHT)}
        waiting = [dig.label for dig in open_digs(record)]
        back = scanned(record, tmp_path, digs)
        again = dig_called(record, NIGHT, "2")
    assert labels == {"A": True, "B": False, "C": False}, "a nest not dug up stays open"
    assert waiting == ["A"]
    assert change_lines(changes) == [
        "Compared with what the record had of 2026-06-12: 0 digs as before, 3 no longer found.",
        "Dig 1 (nest) is not in this scan: it stays open, as dig A.",
        "Dig 2 (nest) is not in this scan: your find (eggs) is kept, as dig B.",
        "Dig 3 (trial) is not in this scan: it had no find and is not asked for any more, as dig C.",
    ]
    assert (back.as_before, back.new, again.find is not None) == (3, (), True)


def test_an_unclear_match_keeps_the_find_as_an_entry_of_its_own(tmp_path: Path) -> None:
    with record_in(tmp_path) as record:
        scanned(record, tmp_path, [dig_entry()])
        enter_find(record, site_in(tmp_path), dig_called(record, NIGHT, "1"), "eggs")
        twins = [dig_entry(1, place=(2.6, 0.72)), dig_entry(2, place=(2.8, 0.72))]
        changes = scanned(record, tmp_path, twins)
        finds = {dig.label: dig.find.found if dig.find else None for dig in digs_of(record, NIGHT)}
    assert finds == {"1": None, "2": None, "A": "eggs"}
    assert change_lines(changes)[1] == (
        "Dig 1 (nest) may be one of several digs of this scan: your find (eggs) is kept, as dig A."
    )


def test_a_dig_added_by_hand_is_the_one_a_later_scan_finds(tmp_path: Path) -> None:
    site = site_in(tmp_path)
    with record_in(tmp_path) as record:
        scanned(record, tmp_path, [])
        times = [instant(text, record.zone, NIGHT) for text in ("21:10", "23:00")]
        told = HandDig("footage", times[0], times[1], camera="sandbank", pixel=(272.0, 70.0))
        added = add_dig(record, site, NIGHT, told)
        enter_find(record, site, added, "eggs")
        scanned(record, tmp_path, [dig_entry()])
        (dig,) = digs_of(record, NIGHT)
    assert (added.label, dig.label, dig.source, dig.id) == ("A", "1", "footage", added.id)
    assert dig.find is not None


def test_scanning_the_same_again_changes_nothing_but_the_time(tmp_path: Path) -> None:
    with record_in(tmp_path) as record:
        scanned(record, tmp_path, [dig_entry()])
        number = dig_called(record, NIGHT, "1").id
        changes = scanned(record, tmp_path, [dig_entry()])
        values = [set(change.values) for change in history(record, "dig", number)[1:]]
        count = record.rows("SELECT 1 FROM footage")
    assert changes.summary() == "1 dig as before"
    assert values == [{"rank_before"}]
    assert len(count) == 1


def test_nights_of_the_folder_are_taken_in_once_and_a_broken_one_stops_no_other(tmp_path: Path) -> None:
    site = site_in(tmp_path)
    written_night(tmp_path, [dig_entry()])
    broken = tmp_path / "nights" / "2026-06-11" / "night.json"
    broken.parent.mkdir()
    broken.write_text("{", encoding="utf-8")
    with record_in(tmp_path) as record:
        caught = catch_up(record, site, tmp_path / "nights")
        again = catch_up(record, site, tmp_path / "nights")
        (shown,) = calendar(record, NIGHT, NIGHT)
    assert [changes.night for changes in caught.changes] == [NIGHT]
    assert again.changes == ()
    assert caught.troubles == (f"{broken}: is damaged; make it again with nestwatch night.",)
    assert (shown.digs, shown.open, shown.seen) == (1, 1, 28800 / 32400)
    assert len(list((tmp_path / "record-backups").iterdir())) == 1


def test_a_deleted_folder_loses_nothing_but_pictures(tmp_path: Path) -> None:
    site = site_in(tmp_path)
    with record_in(tmp_path) as record:
        scanned(record, tmp_path, [dig_entry()])
        (tmp_path / "nights" / "2026-06-12" / "night.json").unlink()
        (tmp_path / "nights" / "2026-06-12").rmdir()
        assert catch_up(record, site, tmp_path / "nights").changes == ()
        assert missing_folder(record, site, NIGHT) == tmp_path / "nights" / "2026-06-12"
        night = night_of(record, NIGHT)
    assert night is not None
    assert [dig.label for dig in night.digs] == ["1"]
    assert night.footage[0].gaps == ({"from": "a", "to": "b", "why": "no recording"},)
    assert night.footage[0].health[0]["what"] == "fogged"


def test_nests_in_the_ground_are_those_not_lifted_or_still_to_be_dug(tmp_path: Path) -> None:
    from datetime import timedelta

    site = site_in(tmp_path)
    with record_in(tmp_path) as record:
        scanned(record, tmp_path, [dig_entry(1), dig_entry(2, **LATER)])  # type: ignore[arg-type]
        enter_find(record, site, dig_called(record, NIGHT, "1"), "empty")
        later = nests_in_ground(record, NIGHT + timedelta(days=1))
        same = nests_in_ground(record, NIGHT)
        long_after = nests_in_ground(record, NIGHT + timedelta(days=200))
    assert [each.plan_m for each in later] == [(0.9, 2.1)]
    assert (same, long_after) == ((), ())
