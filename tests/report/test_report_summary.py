"""The first lines: what was not seen before anything else, and no "nothing found" without what was seen."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta

import pytest

from nestwatch.footage.records import Gap, Unreadable
from nestwatch.report import CameraNight, PlacedDig, night_document, summary_lines
from nestwatch.report.summary import misses_something
from nestwatch.site.records import NightHours, Site
from tests.report.scenes import a_dig, a_gap, a_night, a_placed, a_site, some_hours

OFF = Gap(some_hours().start, some_hours().end, "no recording")


def _lines(
    cameras: Sequence[CameraNight], digs: Sequence[PlacedDig] = (), site: Site | None = None
) -> tuple[str, ...]:
    site = site or a_site(cameras=[night.account.camera for night in cameras])
    hours = some_hours()
    return summary_lines(site, hours, night_document(site, hours, cameras, digs, "0.1.0"))


def test_the_line_of_the_brief_case() -> None:
    lines = _lines([a_night(gaps=[a_gap("22:10", "22:40")])], [a_placed()])
    assert lines == (
        "Not seen: sandbank 22:10–22:40 (no recording). 30 min of 9 h nesting time.",
        "1. nest, eggs 93 %: 21:14–23:18, sandbank, plan x 2.70 m, y 0.72 m, within 6 cm",
    )


def test_all_seen_and_no_dig() -> None:
    assert _lines([a_night("sandbank"), a_night("shed side")]) == (
        "Everything in nesting hours (18:00–03:00) was seen by all 2 cameras.",
        "No dig found in the 9 h of nesting time seen.",
    )


def test_one_camera() -> None:
    assert _lines([a_night()])[0] == "Everything in nesting hours (18:00–03:00) was seen by the camera."


def test_gaps_outside_nesting_hours_are_no_headline() -> None:
    lines = _lines([a_night(gaps=[a_gap("16:00", "17:59"), a_gap("03:00", "05:00")])])
    assert lines[0].startswith("Everything in nesting hours")


def test_a_camera_that_was_off_is_loud_and_limits_nothing_found() -> None:
    lines = _lines([a_night("sandbank"), a_night("shed side", [OFF])])
    assert lines == (
        "Not seen: shed side all nesting hours (no recording). 9 h of 9 h nesting time.",
        "No dig found in what was seen (sandbank 9 h, shed side none of 9 h); the rest is unknown.",
    )


@pytest.mark.parametrize("looked", [None, 0.0])
def test_nothing_seen_says_that_nothing_can_be_said(looked: float | None) -> None:
    cameras = [a_night("sandbank", [OFF] if looked is None else [], looked_min=looked)]
    lines = _lines(cameras)
    assert lines[0].startswith("NOTHING CAN BE SAID: no camera saw anything in nesting hours (18:00–03:00).")
    assert not any("No dig found" in line for line in lines)


def test_no_camera_at_all_says_that_nothing_can_be_said() -> None:
    assert _lines([])[0].startswith("NOTHING CAN BE SAID")


def test_fog_is_told_and_is_not_called_seen() -> None:
    lines = _lines([a_night(looked_min=480)])
    assert lines == (
        "Everything in nesting hours (18:00–03:00) was recorded by the camera.",
        "Not clear enough to judge: sandbank, 1 h of nesting time.",
        "No dig found in what was seen (sandbank 8 h of 9 h); the rest is unknown.",
    )


def test_short_gaps_are_counted_together() -> None:
    gaps = [a_gap("20:00:00", "20:00:04"), a_gap("21:00:00", "21:00:10")]
    assert _lines([a_night(gaps=gaps)])[0] == (
        "Everything in nesting hours (18:00–03:00) was seen by the camera, save 14 s in short gaps."
    )


def test_many_short_gaps_add_up_to_a_loss() -> None:
    gaps = [a_gap(f"20:{n:02d}:00", f"20:{n:02d}:50") for n in range(30)]
    first = _lines([a_night(gaps=gaps)])[0]
    assert first.startswith("Not seen: sandbank 20:00–20:00 (no recording)")
    assert first.endswith("; 28 more. 25 min of 9 h nesting time.")


def test_the_longest_gaps_are_named_first() -> None:
    gaps = [a_gap("19:00", "19:05", "a"), a_gap("20:00", "21:00", "b"), a_gap("22:00", "22:30", "c")]
    assert _lines([a_night("one", gaps), a_night("two", [a_gap("23:00", "23:10", "d")])])[0] == (
        "Not seen: one 20:00–21:00 (b); one 22:00–22:30 (c); 2 more. 1 h 45 min of 2 × 9 h nesting time."
    )


def test_rests_are_not_told_as_digs() -> None:
    lines = _lines([a_night()], [a_placed(a_dig(call="rest", likelihood=0.02))])
    assert lines[1] == "No dig found in the 9 h of nesting time seen."


def test_no_marks_and_imperial() -> None:
    site = a_site(cameras=["sandbank"], units="imperial")
    lines = _lines([a_night()], [a_placed(), a_placed(a_dig(call="unclear"), marks=False)], site)
    assert lines[1].endswith("sandbank, plan x 8 ft 10½ in, y 2 ft 4½ in, within 2½ in")
    assert lines[2].endswith("sandbank, pixel 531, 424 (no marks: no distance)")


def test_five_lines_at_most_with_many_digs() -> None:
    lines = _lines([a_night()], [a_placed()] * 30)
    assert len(lines) == 5
    assert lines[-1] == "and 27 more, ranked lower: all are in index.html"


def test_unreadable_files_are_counted_and_named() -> None:
    bad = [Unreadable(f"{name}.mp4", "cut off") for name in "abc"]
    assert _lines([a_night(unreadable=bad)])[-1] == (
        "Not read, or only in part: 3 files (a.mp4, b.mp4 and 1 more)."
    )


def test_lines_are_short() -> None:
    cameras = [a_night("sandbank", [a_gap("22:10", "22:40")]), a_night("shed side", looked_min=480)]
    digs = [a_placed(), a_placed(a_dig(call="trial")), a_placed(a_dig(call="unclear"), marks=False)]
    assert max(len(line) for line in _lines(cameras, digs)) <= 100


def test_the_repeated_hour_is_told_apart() -> None:
    start, end = datetime(2026, 10, 24, 14, tzinfo=UTC), datetime(2026, 10, 25, 8, tzinfo=UTC)
    # 02:10 came twice in Paris: at 00:10 and at 01:10 UTC.
    first = datetime(2026, 10, 25, 0, 10, tzinfo=UTC)
    gap = Gap(first, first + timedelta(hours=1), "no recording")
    hours = NightHours(date(2026, 10, 24), start, end, (start, end), None, None)
    site = a_site(cameras=["sandbank"])
    document = night_document(site, hours, [a_night(gaps=[gap])], [], "0.1.0")
    assert summary_lines(site, hours, document)[0].startswith(
        "Not seen: sandbank 02:10 (UTC+02:00)–02:10 (UTC+01:00) (no recording). 1 h of 18 h"
    )


@pytest.mark.parametrize(
    ("night", "loud"),
    [
        (a_night(), False),
        (a_night(gaps=[a_gap("20:00:00", "20:00:14")]), False),
        (a_night(gaps=[a_gap("20:00", "20:02")]), True),
        (a_night(looked_min=300.0), True),
        (a_night(gaps=[OFF]), True),
    ],
)
def test_the_page_is_loud_when_something_was_missed(night: CameraNight, loud: bool) -> None:
    document = night_document(a_site(cameras=["sandbank"]), some_hours(), [night], [], "0.1.0")
    assert misses_something(document) is loud
