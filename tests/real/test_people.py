"""People on a forecourt, filmed by a real camera: visitors at the right times, and never a dig.

What is in `vtest.avi` (768x576, 79.5 s), seen by eye in one picture a second, places as (x, y) pixels:

* There is no empty moment: in every one of the 80 pictures at least two people walk or stand.
* The lawn in the lower left is entered by two people only. A fair-haired woman in a dark coat and a man in
  a red and blue jacket come in at the lower right at 50-51 s; at 53 s they are at (350, 490), at 56 s at
  (207, 470). The man goes up over the lawn to the forecourt (60 s). She stands about (280-330, 490) from 57
  to 61 s, then walks left: 64 s (360, 450), 67 s (223, 400), 70 s (107, 327), and is off the lawn at 73 s.
* A man in black jacket and blue jeans comes to (310, 250) at 39 s, stands there with a telephone until 43 s,
  turns to the right and has gone at 47 s. Others cross that spot before 35 s and after 49 s.
* A man in a dark coat comes down at 47 s and stands about (660, 350) from 49 s, without a step from 55 to
  61 s. So many people pass before and behind him that at one picture in 4 s he cannot be told from them.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import shapely

from tests.real.yards import Outline, seconds, watch_clip

SIZE = (768, 576)
LENGTH_S = 79.5
SKIM_S = 4.0
"""One picture in 4 s is looked at, so an arrival shows up to that much late, and so does a leaving."""
LAWN = [(0.0, 340.0), (60.0, 290.0), (250.0, 330.0), (740.0, 560.0), (740.0, 576.0), (0.0, 576.0)]
BEYOND = [(0.0, 0.0), (768.0, 0.0), (768.0, 530.0), (250.0, 300.0), (60.0, 260.0), (0.0, 300.0)]


@pytest.fixture(scope="module")
def forecourt(real_footage: Callable[[str], Path]) -> Path:
    return real_footage("vtest.avi")


@pytest.mark.footage
def test_people_walking_about_are_visitors_all_the_time(tmp_path: Path, forecourt: Path) -> None:
    """Without marks: the times are right; whether they are people cannot be told without a scale."""
    document = watch_clip(tmp_path, forecourt, SIZE)
    assert document["digs"] == []
    assert {seen["what"] for seen in document["visitors"]} <= {"person", "larger animal"}
    spans = [(seconds(seen["from"]), seconds(seen["to"])) for seen in document["visitors"]]
    assert min(first for first, _ in spans) <= SKIM_S + 0.5
    assert max(last for _, last in spans) >= LENGTH_S - SKIM_S - 0.5
    assert max(last for _, last in spans) <= LENGTH_S + 0.5
    assert unions(spans) >= LENGTH_S - 2 * SKIM_S - 1.0


@pytest.mark.footage
def test_people_are_told_from_animals_where_marks_give_the_scale(tmp_path: Path, forecourt: Path) -> None:
    """Scale by people taken as 1.75 m tall (an assumption): 84 px of them make 48 px/m."""
    posts = {"a": ((0.0, 0.0), (100.0, 500.0)), "b": ((10.0, 0.0), (580.0, 500.0)),
             "c": ((10.0, 10.0), (580.0, 20.0)), "d": ((0.0, 10.0), (100.0, 20.0))}  # fmt: skip
    document = watch_clip(tmp_path, forecourt, SIZE, posts=posts)
    assert document["digs"] == []
    assert {seen["what"] for seen in document["visitors"]} == {"person"}


@pytest.mark.footage
def test_the_woman_on_the_lawn_is_seen_when_and_where_she_was(tmp_path: Path, forecourt: Path) -> None:
    """All but the lawn is ignored: on it are only the woman and, at first, her companion."""
    zones = {"lawn": ("nesting", LAWN), "path": ("ignore", BEYOND)}
    document = watch_clip(tmp_path, forecourt, SIZE, zones=zones)
    assert document["digs"] == []
    assert len(document["visitors"]) == 1
    seen = document["visitors"][0]
    assert 50 - 0.5 <= seconds(seen["from"]) <= 51 + SKIM_S
    assert 73 - SKIM_S <= seconds(seen["to"]) <= 73 + SKIM_S
    their_way = shapely.LineString([(700, 500), (350, 490), (207, 470), (330, 490), (360, 450), (107, 327)])
    assert shapely.distance(their_way, shapely.Point(seen["pixel"])) < 45  # half a person's height


@pytest.mark.footage
def test_the_standing_man_is_seen_when_and_where_he_stood(tmp_path: Path, forecourt: Path) -> None:
    """All but the spot of the man with the telephone is ignored."""
    document = watch_clip(tmp_path, forecourt, SIZE, zones=only(262, 235, 345, 300))
    assert document["digs"] == []
    assert len(document["visitors"]) == 1
    seen = document["visitors"][0]
    assert 39 - 0.5 <= seconds(seen["from"]) <= 40 + SKIM_S
    assert 44 <= seconds(seen["to"]) <= 47 + SKIM_S
    assert seen["pixel"] == pytest.approx((310, 250), abs=42)  # half a person's height


def only(left: float, top: float, right: float, low: float) -> dict[str, tuple[str, Outline]]:
    """Zones that leave nothing but a rectangle."""
    wide, high = SIZE
    return {
        "spot": ("nesting", [(left, top), (right, top), (right, low), (left, low)]),
        "above": ("ignore", [(0, 0), (wide, 0), (wide, top), (0, top)]),
        "below": ("ignore", [(0, low), (wide, low), (wide, high), (0, high)]),
        "west": ("ignore", [(0, top), (left, top), (left, low), (0, low)]),
        "east": ("ignore", [(right, top), (wide, top), (wide, low), (right, low)]),
    }


@pytest.mark.footage
def test_the_empty_lawn_has_no_visitor_before_they_come(tmp_path: Path, forecourt: Path) -> None:
    """The night ends at 49 s of the clip: on the lawn was nobody, while many walked beyond it."""
    zones = {"lawn": ("nesting", LAWN), "path": ("ignore", BEYOND)}
    document = watch_clip(tmp_path, forecourt, SIZE, begins="120011", night=("12:00", "12:01"), zones=zones)
    assert document["footage"][0]["seconds_read"] == pytest.approx(49.0, abs=0.5)
    assert document["visitors"] == []
    assert document["digs"] == []


@pytest.mark.footage
def test_half_an_hour_of_people_is_no_dig(tmp_path: Path, forecourt: Path) -> None:
    """The clip repeated for 26 min, as long as a stay: where people keep coming and standing nobody digs."""
    copies = 20
    recordings = tmp_path / "recordings"
    recordings.mkdir()
    noon = datetime(2026, 6, 12, 12)  # noqa: DTZ001 - wall time, as in file names
    for copy in range(copies):
        at = noon + timedelta(seconds=80 * copy)
        linked(forecourt, recordings / f"yard_{at:%Y%m%dT%H%M%S}.avi")
    document = watch_clip(tmp_path, None, SIZE, night=("12:00", "12:27"))
    assert document["footage"][0]["seconds_read"] == pytest.approx(copies * LENGTH_S, abs=copies)
    assert [dig for dig in document["digs"] if dig["call"] != "rest"] == []
    assert told(document, 0.5, copies * 80 - 10)


def told(document: dict[str, Any], first: float, last: float) -> bool:
    """Whether visitors fill a stretch but for two skim steps."""
    spans = [(seconds(seen["from"]), seconds(seen["to"])) for seen in document["visitors"]]
    return unions([(max(a, first), min(b, last)) for a, b in spans]) >= last - first - 2 * SKIM_S


def unions(spans: list[tuple[float, float]]) -> float:
    """Seconds in any of the spans."""
    lines = shapely.union_all([shapely.LineString([(a, 0), (b, 0)]) for a, b in spans if b > a])
    return float(lines.length)


def linked(source: Path, target: Path) -> None:
    """The same file under another name, without its bytes twice where the disk can do that."""
    try:
        os.link(source, target)
    except OSError:
        shutil.copy(source, target)
