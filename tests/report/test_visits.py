"""Visitors on the page: few are told one by one, a crowd is one line that says what it may be."""

from __future__ import annotations

from typing import Any

from nestwatch.report.visits import told


def visit(
    clock: str, until: str = "", *, what: str = "larger animal", camera: str = "sandbank", picture: str = ""
) -> dict[str, Any]:
    start, end = (f"2026-06-12T{at}:00+02:00" for at in (clock, until or clock))
    return {
        "camera": camera,
        "from": start,
        "to": end,
        "what": what,
        "pixel": None,
        "picture": picture or None,
    }


MOTHS = [visit(f"21:{minute:02d}", picture="a.jpg" if minute == 10 else "") for minute in range(0, 60, 5)]


def test_few_are_told_one_by_one_in_order() -> None:
    later, sooner = visit("23:10", "23:12"), visit("21:02", what="person")
    assert told([later, sooner]) == [{**sooner, "note": None}, {**later, "note": None}]
    assert told([]) == []


def test_a_crowd_is_one_line_from_first_to_last_with_a_picture() -> None:
    (line,) = told([*MOTHS[:-1], {**MOTHS[-1], "to": "2026-06-12T22:04:00+02:00"}])
    assert line["what"] == "12 times something large"
    assert (line["from"][11:16], line["to"][11:16], line["picture"]) == ("21:00", "22:04", "a.jpg")
    assert "insects" in line["note"]
    assert "person" in line["note"], "whoever else was there is not denied"


def test_what_is_far_from_the_crowd_in_time_or_at_another_camera_or_a_light_stays_apart() -> None:
    apart = [visit("03:40"), visit("21:20", camera="shed side"), visit("21:30", what="light")]
    lines = told([*MOTHS, *apart])
    assert [line["note"] is None for line in lines].count(True) == 3
    assert len(lines) == 4


def test_two_crowds_hours_apart_are_two_lines() -> None:
    late = [visit(f"23:{minute:02d}") for minute in range(10, 50, 5)]
    assert [line["what"] for line in told([*MOTHS, *late])] == [
        "12 times something large",
        "8 times something large",
    ]


def test_six_in_an_hour_are_no_crowd() -> None:
    assert len(told(MOTHS[:6])) == 6
    assert len(told(MOTHS[:7])) == 1
