"""The kept sample night from recordings to night file: the nest is found, nothing is done twice."""

from __future__ import annotations

import csv
import json
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from nestwatch import camera_night
from nestwatch.commands.main import main
from nestwatch.footage import Skim
from nestwatch.footage.records import Footage
from nestwatch.night import NightResult, Progress, run_night
from nestwatch.site import load_site
from tests.night.sites import FIRST, NIGHT, SAMPLE, SECOND, at, contents, sample_site, truth


@dataclass(frozen=True)
class Run:
    """A finished run of two cameras in two processes, and all the progress it told."""

    site: Path
    out: Path
    result: NightResult
    steps: tuple[Progress, ...]


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Run:
    """One camera with the whole night, and one whose first recording is empty."""
    folder = tmp_path_factory.mktemp("sample night")
    site = sample_site(folder, {"sandbank": (FIRST, SECOND), "Süd bank": (SECOND,)})
    (folder / "Süd bank" / FIRST).write_bytes(b"")
    steps: list[Progress] = []
    result = run_night(load_site(site), NIGHT, folder / "nights", workers=2, progress=steps.append)
    return Run(site, folder / "nights", result, tuple(steps))


def nest(run: Run) -> dict[str, Any]:
    """The first dig in which the camera that saw all has part: both look from one place and are joined."""
    return next(dig for dig in run.result.document["digs"] if "sandbank" in dig["cameras"])


def test_the_nest_is_found_and_first(run: Run) -> None:
    true = truth()["animals"][0]["events"][0]
    found = nest(run)
    assert found["call"] == "nest"
    assert found["rank"] == 1
    assert found["likelihood"] > 0.6
    assert abs((at(found["from"]) - at(true["from"])).total_seconds()) <= 6 * 60
    assert abs((at(found["to"]) - at(true["to"])).total_seconds()) <= 6 * 60


def test_the_chamber_is_within_half_a_shell_on_picture_and_plan(run: Run) -> None:
    true, found = truth()["animals"][0]["events"][0], nest(run)
    seen = true["per_camera"]["sandbank"]
    assert math.dist(found["pixel"], seen["chamber_px"]) <= 0.5 * seen["shell_px"]
    assert math.dist(found["plan_m"], true["chamber_m"]) <= 0.5 * truth()["animals"][0]["shell_cm"] / 100
    assert math.dist(found["plan_m"], true["chamber_m"]) <= found["within_m"]


def test_the_stages_come_in_order_and_near_the_true_ones(run: Run) -> None:
    true = {stage["stage"]: stage for stage in truth()["animals"][0]["events"][0]["stages"]}
    found = {stage["stage"]: stage for stage in nest(run)["stages"]}
    assert [stage["stage"] for stage in nest(run)["stages"]] == ["search", "dig", "lay", "cover"]
    for name in ("dig", "lay", "cover"):
        assert abs((at(found[name]["from"]) - at(true[name]["from"])).total_seconds()) <= 10 * 60


def test_nothing_else_is_called_a_nest(run: Run) -> None:
    digs = run.result.document["digs"]
    assert sum(dig["call"] == "nest" for dig in digs) == 1
    true = truth()["animals"][0]["events"][0]["per_camera"]["sandbank"]
    for dig in digs:
        if dig["call"] in {"nest", "trial"}:
            assert math.dist(dig["pixel"], true["body_px"]) <= 1.5 * true["shell_px"]


def test_the_night_file_obeys_the_contract(run: Run) -> None:
    """Keys as fixed for other programs to rely on (docs/night-file.md); more are allowed, fewer are not."""
    folder = run.result.folder
    document = json.loads((folder / "night.json").read_text(encoding="utf-8"))
    assert document == run.result.document
    assert document["format"] == "nestwatch-night/1"
    assert document["night"] == folder.name == "2026-06-12"
    assert {"site", "version", "footage", "digs", "visitors"} <= document.keys()
    for camera in document["footage"]:
        wanted = {"camera", "from", "to", "seconds_expected", "seconds_read", "gaps", "unreadable"}
        assert wanted <= camera.keys()
        lost = sum((at(gap["to"]) - at(gap["from"])).total_seconds() for gap in camera["gaps"])
        # Gaps are told to the second.
        total = camera["seconds_read"] + lost
        assert total == pytest.approx(camera["seconds_expected"], abs=len(camera["gaps"]) + 0.01)
    for rank, dig in enumerate(document["digs"], start=1):
        check_dig(dig, rank, folder)


def check_dig(dig: dict[str, Any], rank: int, folder: Path) -> None:
    assert {"camera", "cameras", "likelihood", "pixel", "plan_m", "within_m", "shell_length_cm"} <= dig.keys()
    assert dig["rank"] == rank
    assert dig["call"] in {"nest", "trial", "rest", "unclear"}
    assert 0 <= dig["likelihood"] <= 1
    assert at(dig["from"]).utcoffset() is not None
    assert at(dig["from"]) < at(dig["to"])
    assert dig["reasons"]
    assert set(dig["pictures"]) == {"before", "during", "after", "overview"}
    for name in [*dig["pictures"].values(), dig["clip"]]:
        assert name is None or (folder / name).stat().st_size > 1000


def test_table_and_page_list_the_same_digs(run: Run) -> None:
    digs = run.result.document["digs"]
    with (run.result.folder / "digs.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [int(row["rank"]) for row in rows] == [dig["rank"] for dig in digs]
    page = (run.result.folder / "index.html").read_text(encoding="utf-8")
    assert "S\u00fcd bank" in page


def test_the_first_line_says_what_was_not_seen(run: Run) -> None:
    first = run.result.summary[0]
    assert first.startswith("Not seen: Süd bank 21:00\u201322:15")
    assert FIRST in first
    assert "0 bytes" in first


def test_an_empty_file_makes_the_run_partial(run: Run) -> None:
    assert run.result.partial
    unreadable = {each["camera"]: each["unreadable"] for each in run.result.document["footage"]}
    assert unreadable["sandbank"] == []
    assert [each["file"] for each in unreadable["Süd bank"]] == [FIRST]


def test_progress_never_goes_back(run: Run) -> None:
    order = ["reading", "looking closely", "making pictures"]
    for camera in ("sandbank", "Süd bank"):
        steps = [step for step in run.steps if step.camera == camera]
        places = [(order.index(step.doing), step.done / step.of) for step in steps]
        assert len(places) > 5
        assert places == sorted(places)
        assert all(0 <= share <= 1 for _, share in places)
        assert {step.doing for step in steps} >= {"reading"}


def test_no_temporary_file_is_left(run: Run) -> None:
    assert [name for name in contents(run.out) if name.endswith(".part")] == []


class Touched(Exception):
    """A recording was decoded."""


def refuse(*_: object, **__: object) -> Skim:
    raise Touched


def test_a_second_run_decodes_nothing_and_says_the_same(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """Through the command, in this process: exit code 3 for the empty file, the same night file, no frame
    read."""
    monkeypatch.setattr(camera_night, "Skim", refuse)
    before = contents(run.out)
    command = ["night", str(run.site), "--date", "2026-06-12", "--json", "--workers", "1"]
    told = CliRunner().invoke(main, command)
    assert told.exit_code == 3, told.stderr
    assert json.loads(told.stdout) == run.result.document
    assert contents(run.out) == before


def test_fresh_does_it_again(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(camera_night, "Skim", refuse)
    before = contents(run.out)
    with pytest.raises(Touched):
        run_night(load_site(run.site), NIGHT, run.out, fresh=True, workers=1)
    assert contents(run.out) == before


def test_only_a_camera_whose_recordings_changed_is_watched_again(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A recording of another night, and the other camera's outlines, change nothing."""
    watched = []

    def note(footage: Footage, **_: object) -> Skim:
        watched.append(footage.camera)
        raise Touched

    monkeypatch.setattr(camera_night, "Skim", note)
    later = run.site.parent / "sandbank" / "sandbank_20260612T233500.mp4"
    changed = run.site.parent / "Süd bank" / FIRST
    later.write_bytes(b"another night")
    changed.write_bytes(b"no longer empty")
    with pytest.raises(Touched):
        run_night(load_site(run.site), NIGHT, run.out, workers=1)
    later.unlink()
    changed.write_bytes(b"")
    assert watched == ["Süd bank"]


def test_the_sample_is_small() -> None:
    """It is committed, so that every clone can run this."""
    assert sum(path.stat().st_size for path in SAMPLE.rglob("*") if path.is_file()) < 3_000_000
