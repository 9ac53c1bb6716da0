"""A rendered animal that digs in real pictures is found, first and in its place; without it is no nest."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot
from pathlib import Path
from typing import Any

import pytest

from nestwatch.synthetic.scenario import Scenario
from nestwatch.synthetic.story import make_story
from tests.real.composite import Clip, Pasted, night_of, play, read_clip, truth_of
from tests.real.test_leaves import HAND_S
from tests.real.test_people import LAWN, LENGTH_S
from tests.real.test_people import SIZE as FORECOURT
from tests.real.yards import Outline, seconds, watch_clip

NIGHT = ("20:00", "22:10")
MIDDLE_S = 8 * 3600.0  # 20:00, in seconds after noon


@dataclass(frozen=True)
class Stage:
    """Where the animal is put: a clip, the pictures' size, the night, and the zone (None: everywhere)."""

    clip: Clip
    size: tuple[int, int]
    night: Scenario
    zone: Outline | None


@pytest.fixture(scope="module", params=["leaves", "people"])
def stage(request: pytest.FixtureRequest, real_footage: Callable[[str], Path]) -> Stage:
    """Leaves in wind behind and around her; or a lawn's corner with people walking over the rest of it."""
    if request.param == "leaves":
        size = (320, 240)
        clip = read_clip(real_footage("tree.avi"), until=HAND_S, size=size)
        return Stage(clip, size, night_of(size, (2.2, 1.5), hfov_deg=50, tilt_deg=42), None)
    size = (480, 360)
    clip = read_clip(real_footage("vtest.avi"), until=LENGTH_S, size=size)
    lawn = [(x * size[0] / FORECOURT[0], min(y * size[1] / FORECOURT[1], size[1] - 1)) for x, y in LAWN]
    return Stage(clip, size, night_of(size, (0.9, 1.1), hfov_deg=60, tilt_deg=42), lawn)


def watched(folder: Path, stage: Stage, *, animal: bool) -> tuple[dict[str, Any], Pasted]:
    """The night file of the stage's recording, and what was pasted into it."""
    story = make_story(stage.night, 1)
    pasted = truth_of(story)
    play(story, stage.clip, folder / "night.mp4", animal=animal)
    zones = None if stage.zone is None else {"lawn": ("nesting", stage.zone)}
    document = watch_clip(
        folder,
        folder / "night.mp4",
        stage.size,
        begins="200000",
        night=NIGHT,
        zones=zones,
        posts=pasted.posts,
    )
    return document, pasted


@pytest.mark.footage
def test_the_digging_animal_is_first_and_in_its_place(tmp_path: Path, stage: Stage) -> None:
    document, pasted = watched(tmp_path, stage, animal=True)
    first = document["digs"][0]
    # What is asked of real pictures is that a person looks there first; the table counts how it is called.
    assert first["rank"] == 1
    assert first["call"] == "nest"
    x, y = first["pixel"]
    # Under the shell, or at its wrong end: real leaves move as much as her feet, so the ends may be taken for
    # each other, which costs one shell length.
    assert hypot(x - pasted.chamber[0], y - pasted.chamber[1]) < 1.25 * pasted.shell_px
    assert hypot(x - pasted.body[0], y - pasted.body[1]) < 0.75 * pasted.shell_px
    assert seconds(first["from"]) == pytest.approx(MIDDLE_S + pasted.start, abs=300)
    assert seconds(first["to"]) == pytest.approx(MIDDLE_S + pasted.end, abs=300)
    assert [dig for dig in document["digs"][1:] if dig["call"] == "nest"] == []


@pytest.mark.footage
def test_the_same_recording_without_it_holds_no_nest(tmp_path: Path, stage: Stage) -> None:
    document, _ = watched(tmp_path, stage, animal=False)
    assert document["footage"][0]["seconds_read"] == pytest.approx(7800, abs=60)
    assert [dig for dig in document["digs"] if dig["call"] in ("nest", "trial")] == []
