"""What a night file says was wrong, held against the truth: told, missed, said without cause."""

from __future__ import annotations

from typing import Any

import pytest

from bench.bad_table import FamilyNight, report
from bench.table import Judged
from bench.troubles import Troubles, together, troubles


def _at(start: str, end: str, **more: object) -> dict[str, Any]:
    first, last = (f"2026-06-10T{clock}:00+02:00" for clock in (start, end))
    return {"from": first, "to": last, **more}


def _truth(*nuisances: dict[str, Any], **more: object) -> dict[str, Any]:
    return {"animals": [], "nuisances": list(nuisances), **more}


def _night(*health: dict[str, Any], gaps: object = (), **more: object) -> dict[str, Any]:
    footage = [{"camera": "bank", "health": list(health), "gaps": gaps}]
    return {"footage": footage, "raids": [], "clocks": [], **more}


@pytest.mark.parametrize(
    ("kind", "what", "told", "false"),
    [
        ("fog", "fogged", 1, ()),
        ("fog", "covered", 0, ()),
        ("fog", "moved", 0, ("moved",)),
        ("web", "covered", 1, ()),
        ("web", "fogged", 0, ("fogged",)),
        ("nudge", "moved", 1, ()),
        ("sag", "sagged", 1, ()),
    ],
)
def test_a_disturbance_is_told_by_a_word_that_means_it(
    kind: str, what: str, told: int, false: tuple[str, ...]
) -> None:
    truth = _truth(_at("21:00", "22:00", kind=kind))
    assert troubles(truth, _night(_at("21:20", "21:40", what=what))) == Troubles(told, 1, false)


def test_at_another_time_it_is_both_missed_and_false() -> None:
    truth = _truth(_at("21:00", "22:00", kind="fog"))
    assert troubles(truth, _night(_at("22:10", "22:40", what="fogged"))) == Troubles(0, 1, ("fogged",))


def test_half_of_what_is_said_must_have_its_cause() -> None:
    truth = _truth(_at("21:00", "22:00", kind="fog"))
    assert troubles(truth, _night(_at("20:00", "21:10", what="fogged"))) == Troubles(1, 1, ("fogged",))
    assert troubles(truth, _night(_at("20:50", "21:10", what="fogged"))) == Troubles(1, 1, ())


def test_what_only_may_show_is_neither_due_nor_false() -> None:
    truth = _truth(_at("21:00", "22:00", kind="rain"))
    assert troubles(truth, _night()) == Troubles(0, 0, ())
    assert troubles(truth, _night(_at("21:20", "21:40", what="covered"))) == Troubles(0, 0, ())


def test_a_gap_is_told_where_nearly_all_of_it_is() -> None:
    truth = _truth(gaps=[_at("21:00", "21:30")])
    assert troubles(truth, _night(gaps=[_at("21:00", "21:30")])).told == 1
    assert troubles(truth, _night(gaps=[_at("21:00", "21:10")])).told == 0


def test_clocks_count_by_pair_whichever_camera_is_named_first() -> None:
    truth = _truth(clock_ahead_s={"east": -46})
    night = _night()
    night["footage"].append({"camera": "east", "health": [], "gaps": []})

    def said(camera: str, other: str, ahead_s: float) -> Troubles:
        return troubles(truth, {**night, "clocks": [{"camera": camera, "other": other, "ahead_s": ahead_s}]})

    assert said("bank", "east", 44.0) == said("east", "bank", -44.0) == Troubles(1, 1, ())
    assert said("bank", "east", -46.0) == Troubles(0, 1, ("clock",))
    assert troubles(truth, night) == Troubles(0, 1, ())
    assert troubles(_truth(clock_ahead_s={"east": 4}), night) == Troubles(0, 0, ())


def test_a_clock_difference_too_small_to_be_told_is_no_false_alarm() -> None:
    told, figure = ({"camera": "bank", "other": "east", "ahead_s": ahead} for ahead in (-6.4, -3.4))
    truth, night = _truth(clock_ahead_s={"east": 3}), _night()
    night["footage"].append({"camera": "east", "health": [], "gaps": []})
    assert troubles(truth, {**night, "clocks": [figure]}) == Troubles(0, 0, ())
    assert troubles(truth, {**night, "clocks": [told]}) == Troubles(0, 0, ("clock",))


def test_a_raid_needs_a_visitor() -> None:
    raid = _night(raids=[_at("22:00", "22:20")])
    digger = {"animals": [{"events": [_at("21:58", "22:15", kind="raid")]}]}
    assert troubles(_truth() | digger, raid) == Troubles(1, 1, ())
    assert troubles(_truth() | digger, _night()) == Troubles(0, 1, ())
    assert troubles(_truth(_at("22:05", "22:15", kind="person")), raid) == Troubles(0, 0, ())
    assert troubles(_truth(_at("22:10", "22:50", kind="web")), raid) == Troubles(0, 1, ("raid",))


def test_the_table_counts_them_by_word() -> None:
    def night(told: Troubles | None) -> FamilyNight:
        return FamilyNight("web", 1, False, Judged("web", 1, None, 1.0, None), {}, None, told)

    parts = [Troubles(1, 2, ("raid", "covered")), Troubles(0, 1, ("raid",))]
    assert together(parts) == Troubles(1, 3, ("raid", "covered", "raid"))
    line = report([night(part) for part in [*parts, None]]).splitlines()[4]
    assert "| 1/3 | covered 1, raid 2 |" in line
    assert "| – | 0 |" in report([night(None)]).splitlines()[4]
