"""The short message: what it says first, and what it never says."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

import pytest

from nestwatch.footage.records import Gap
from nestwatch.report import night_document
from nestwatch.unattended.message import failed_message, night_message
from tests.report.scenes import a_dig, a_gap, a_night, a_placed, a_site, some_hours

SITE = a_site(cameras=["sandbank"])
OFF = Gap(some_hours().start, some_hours().end, "no recording")


def document(*, gaps: tuple[Gap, ...] = (), digs: int = 1) -> dict[str, Any]:
    placed = [a_placed()] * digs
    return night_document(SITE, some_hours(), [a_night("sandbank", list(gaps))], placed, "0.1.0")


def test_a_night_with_a_nest() -> None:
    message = night_message(SITE, document(gaps=(a_gap("22:10", "22:40"),)), places=False)
    assert message.subject == f"nestwatch, {SITE.name}, 2026-06-12: 1 nest; not all was seen"
    assert message.lines == (
        "Not seen: sandbank 22:10–22:40 (no recording). 30 min of 9 h nesting time.",
        "1. nest, eggs 93 %: 21:14–23:18, sandbank",
        "Pictures and places are on the computer that watched: index.html in the folder of this night.",
    )


def test_no_place_leaves_the_house_unless_asked_for() -> None:
    """Neither metres on the plan, nor latitude and longitude, nor names of picture files."""
    told = night_message(SITE, document(), places=False).text
    assert not re.search(r"plan|pixel| m,|\.jpg|\.mp4|47\.2|1\.6", told)
    assert "plan x 2.70 m, y 0.72 m" in night_message(SITE, document(), places=True).text


@pytest.mark.parametrize(
    ("gaps", "digs", "headline"),
    [
        ((), 0, "no dig found"),
        ((), 2, "2 nests"),
        ((a_gap("22:10", "22:40"),), 0, "no dig found; not all was seen"),
        ((OFF,), 0, "NOTHING CAN BE SAID, no camera saw anything"),
    ],
)
def test_the_subject_alone_does_not_mislead(gaps: tuple[Gap, ...], digs: int, headline: str) -> None:
    message = night_message(SITE, document(gaps=gaps, digs=digs), places=False)
    assert message.subject.endswith(f": {headline}")


def test_a_raid_comes_first() -> None:
    raided = document()
    raided["raids"] = [{"words": "RAID? A larger animal was at dig 1. Look there first."}]
    message = night_message(SITE, raided, places=False)
    assert message.subject.endswith(": RAID? 1 nest")
    assert message.lines[0].startswith("RAID?")


def test_rest_is_no_dig() -> None:
    rested = night_document(
        SITE, some_hours(), [a_night("sandbank")], [a_placed(a_dig(call="rest"))], "0.1.0"
    )
    assert night_message(SITE, rested, places=False).subject.endswith(": no dig found")


def test_a_night_that_could_not_be_watched() -> None:
    message = failed_message(SITE, date(2026, 6, 12), "no recording\nwas found.")
    assert message.subject.endswith("2026-06-12: NOT WATCHED")
    assert message.lines == (
        "NOTHING CAN BE SAID about the night of 2026-06-12: it could not be watched.",
        "no recording was found.",
        "Look at the ground yourself, then at the computer and the cameras.",
    )
