"""Hatching and losses on the desk, and two persons at once."""

from __future__ import annotations

import pytest

from nestwatch.season.incubation.growth import growth_of
from nestwatch.season.incubation.hatchings import hatchings, settle_egg
from nestwatch.season.incubation.records import Hatching
from tests.desk.eggs.boxes import EggDesk, plain, told


def settled(desk: EggDesk) -> tuple[Hatching, ...]:
    with desk.record() as record:
        return hatchings(record)


def test_from_hatching_to_head_start(desk: EggDesk) -> None:
    assert (
        desk.egg(
            1, "settle", seen=0, outcome="alive", at="2026-08-05T07:00", mass="6,1", name="E1"
        ).status_code
        == 303
    )
    page = plain(desk.get("/eggs/egg/1").text)
    assert "2026-08-05 egg 1 of 2026-06-12 dig 1: alive; E1; 6.1 g" in page
    assert "Hatchlings stay about a week in the incubator, until the yolk is absorbed." in page
    assert "E1 hatched 2026-08-05: if its yolk is absorbed, it may leave." in plain(desk.get("/eggs/").text)
    assert desk.egg(1, "left", seen=1, at="2026-08-12T07:00").status_code == 303
    assert desk.egg(1, "growth", name="E1", mass="6.4", shell="29").status_code == 303
    again = desk.egg(1, "growth", name="E1", mass="64")
    assert told(again) == "E1 weighed 6.4 g last, and 64 g now? If it is so, say so with the button below."
    with desk.record() as record:
        assert [each.mass_g for each in growth_of(record, "E1")] == [6.4]
    assert settled(desk)[0].left_at is not None


@pytest.mark.parametrize(
    ("fields", "status", "words"),
    [
        (
            {"outcome": "alive", "at": "2026-06-10T07:00"},
            400,
            "An egg cannot be settled before it was laid (2026-06-12 22:05); change one of the times.",
        ),
        (
            {"outcome": "alive", "at": "2026-06-30T07:00"},
            422,
            "That is only 17 days after laying; if it is so",
        ),
        ({"outcome": "alive", "mass": "6100"}, 400, "6100 g cannot be; give grams, at most 200."),
        (
            {"outcome": "alive", "shell": "2.8"},
            400,
            "A shell of 2.8 mm cannot be; give millimetres, 5 to 120.",
        ),
        ({"outcome": "lost", "name": "E1"}, 400, "An egg that is lost has no hatchling to name or measure."),
        ({"outcome": "eaten"}, 400, '"eaten" is none of alive, dead-in-shell, infertile, lost.'),
        ({}, 400, "Say what became of the egg: one of alive, dead-in-shell, infertile, lost."),
        ({"outcome": "alive", "at": "2027-01-01T00:00"}, 400, "That is still to come; check the day."),
    ],
)
def test_hatchings_that_cannot_be(desk: EggDesk, fields: dict[str, str], status: int, words: str) -> None:
    answer = desk.egg(1, "settle", seen=0, **fields)
    assert (answer.status_code, told(answer)[: len(words)]) == (status, words)
    assert settled(desk) == ()


def test_more_hatched_than_were_laid(desk: EggDesk) -> None:
    """In the words of `nestwatch clutch hatch --alive 10`."""
    answer = desk.send("counts", alive="8", infertile="2")
    assert answer.status_code == 400
    assert told(answer) == (
        "10 eggs were told, but box A1 has only 9 left to settle: more cannot have hatched than were laid. "
        "Enter eggs found later with nestwatch clutch place."
    )
    assert told(desk.send("counts")) == "Say how many: alive, dead-in-shell, infertile, lost."
    assert settled(desk) == ()
    assert desk.send("counts", alive="6", infertile="2").status_code == 303
    assert len(settled(desk)) == 8
    assert "Eggs: 1 of 9 left" in plain(desk.get("/eggs/box/A1").text)


def test_two_persons_and_one_egg(desk: EggDesk) -> None:
    with desk.record() as record:
        settle_egg(record, "A1", "1", {"outcome": "infertile"})
    answer = desk.egg(1, "settle", seen=0, outcome="alive", name="E1")
    assert answer.status_code == 409
    assert told(answer) == (
        "Nothing was entered: this was changed meanwhile, and is now: infertile. Look again, then enter "
        "again."
    )
    assert "What you had typed: outcome alive; name E1." in plain(answer.text)
    assert '<input type="hidden" name="seen" value="1">' in answer.text
    assert [each.outcome for each in settled(desk)] == ["infertile"]
    assert desk.egg(1, "settle", seen=1, outcome="alive").status_code == 303  # having looked again


def test_two_persons_and_one_box(desk: EggDesk) -> None:
    change = {"seen": 1, "label": "A1", "incubator": "left", "medium": "perlite"}
    assert desk.send("change-box", **change).status_code == 303
    answer = desk.send("change-box", **change | {"medium": "sand"})
    assert answer.status_code == 409
    assert "is now: A1: perlite, incubator left" in told(answer)
    assert (
        desk.send("change-box", **change | {"seen": 2, "label": "Z9"})
        .headers["Location"]
        .startswith("/eggs/box/Z9")
    )
