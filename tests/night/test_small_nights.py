"""What a night comes to when something is missing, breaks or is too much; on films of forty seconds."""

from __future__ import annotations

import errno
import os
import shutil
from collections.abc import Sequence
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from filelock import FileLock
from numpy.typing import NDArray

from nestwatch import camera_night, night, writing
from nestwatch.camera_night import Job
from nestwatch.errors import FootageError, NestwatchError, OutputError, SiteError
from nestwatch.nesting.records import Call, Dig
from nestwatch.nesting.scale import Scale, SiteFit
from nestwatch.night import NightResult, run_night
from nestwatch.report import files
from nestwatch.site.records import Site
from tests.night.sites import NIGHT, contents, small_site
from tests.report.scenes import a_dig

START = datetime(2026, 6, 12, 20, 0, 5, tzinfo=UTC)
FIT = SiteFit(Scale(0.5, -1.0), 64, 31, START)


def watch(site: Site, out: Path, *, workers: int = 1, when: date = NIGHT, **more: Any) -> NightResult:
    return run_night(site, when, out, workers=workers, **more)


def seen_as(monkeypatch: pytest.MonkeyPatch, digs: Sequence[Dig]) -> None:
    """Whatever is filmed, these are the digs in it."""
    monkeypatch.setattr(camera_night, "find_digs", lambda *_: list(digs))


def dig(number: int = 0, *, call: Call = "nest") -> Dig:
    """A dig of the first half minute of the film, `number` pixels from the others."""
    some = a_dig(chamber=(20.0 + number, 60.0), likelihood=0.9 - number / 100)
    start, end = START, START + timedelta(seconds=25)
    middle = START + timedelta(seconds=12)
    return replace(some, start=start, end=end, stages=(), call=call, body=(20.0 + number, 66.0),
                   chamber_radius_px=6.0, before_at=start, during_at=middle, after_at=end)  # fmt: skip


def test_a_night_without_any_recording_is_one_clear_line(tmp_path: Path) -> None:
    site = small_site(tmp_path, "pond", "bank", filmed=["pond", "bank"])
    watch(site, tmp_path / "nights")
    earlier = contents(tmp_path / "nights")
    with pytest.raises(FootageError) as told:
        watch(site, tmp_path / "nights", when=date(2026, 6, 13))
    line = str(told.value)
    assert "\n" not in line
    assert line.startswith(
        "no camera has a recording of the night of 2026-06-13 (13 Jun 22:00 to 13 Jun 22:02): "
    )
    assert f'"pond" in {tmp_path / "pond"}, "bank" in {tmp_path / "bank"}; check that' in line
    assert line.endswith("or choose another night with --date.")
    assert told.value.exit_code == 1
    assert contents(tmp_path / "nights") | earlier == contents(tmp_path / "nights")


def test_a_lone_empty_folder_is_told_as_such(tmp_path: Path) -> None:
    site = small_site(tmp_path, "pond", filmed=[])
    with pytest.raises(FootageError, match=r'camera "pond": no video and no JPEG picture in .*copy the'):
        watch(site, tmp_path / "nights")


@pytest.mark.parametrize("workers", [1, 2])
def test_an_empty_folder_beside_a_camera_that_saw_is_loudly_not_seen(tmp_path: Path, workers: int) -> None:
    site = small_site(tmp_path, "pond", "bank", filmed=["pond"])
    result = watch(site, tmp_path / "nights", workers=workers)
    assert "bank all nesting hours (no recording in its folder)" in result.summary[0]
    assert result.summary[0].startswith("Not seen: ")
    assert {each["camera"]: each["seconds_read"] > 30 for each in result.document["footage"]} == {
        "pond": True,
        "bank": False,
    }


def test_files_that_cannot_be_read_are_no_night_without_recording(tmp_path: Path) -> None:
    """The report must name them (exit code 3), and say that nothing can be said."""
    site = small_site(tmp_path, "pond", filmed=[])
    (tmp_path / "pond" / "pen_20260612T220000.mp4").write_bytes(b"")
    result = watch(site, tmp_path / "nights")
    assert result.partial
    assert result.summary[0].startswith("NOTHING CAN BE SAID")


@pytest.mark.parametrize("workers", [1, 2])
def test_a_camera_that_fails_stops_no_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, workers: int
) -> None:
    site = small_site(tmp_path, "pond", "bank", filmed=["bank"])
    shutil.rmtree(tmp_path / "pond")
    with pytest.raises(SiteError, match=r'camera "pond": the footage folder .* does not exist'):
        watch(site, tmp_path / "nights", workers=workers)
    night_folder = tmp_path / "nights" / "2026-06-12"
    assert not (night_folder / "night.json").exists()
    (tmp_path / "pond").mkdir()
    # The disk is connected again: what the other camera saw is not decoded a second time.
    monkeypatch.setattr(camera_night, "_skim", None)
    result = watch(site, tmp_path / "nights")
    assert [each["seconds_read"] > 30 for each in result.document["footage"]] == [False, True]


def test_two_cameras_that_fail_are_told_in_one_line(tmp_path: Path) -> None:
    site = small_site(tmp_path, "pond", "bank", filmed=[])
    shutil.rmtree(tmp_path / "pond")
    shutil.rmtree(tmp_path / "bank")
    with pytest.raises(SiteError, match=r'^camera "pond": .* Also: camera "bank": [^\n]*$'):
        watch(site, tmp_path / "nights")


def dies(job: Job) -> None:
    """Stands for a camera's process that the system ends."""
    os._exit(9)


def test_a_process_that_dies_is_one_clear_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    site = small_site(tmp_path, "pond", "bank", filmed=["pond", "bank"])
    monkeypatch.setattr(night, "_watch_there", dies)
    with pytest.raises(NestwatchError, match=r"ended by the system.*--workers 1") as told:
        watch(site, tmp_path / "nights", workers=2)
    assert not isinstance(told.value, BrokenProcessPool)


def test_a_second_run_is_kept_out(tmp_path: Path) -> None:
    site = small_site(tmp_path, "pond", filmed=["pond"])
    folder = tmp_path / "nights" / "2026-06-12"
    folder.mkdir(parents=True)
    with (
        FileLock(folder / ".running"),
        pytest.raises(OutputError, match=r"another nestwatch is working on this night"),
    ):
        watch(site, tmp_path / "nights")
    assert watch(site, tmp_path / "nights").summary


def test_results_where_a_file_lies_are_refused(tmp_path: Path) -> None:
    site = small_site(tmp_path, "pond", filmed=["pond"])
    (tmp_path / "nights").write_text("a file", encoding="utf-8")
    with pytest.raises(OutputError, match=r"cannot be written .*--out"):
        watch(site, tmp_path / "nights")


@pytest.mark.parametrize("broken", ["pictures", "clips", "work", "2026-06-12"])
def test_a_full_disk_leaves_the_earlier_night_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, broken: str
) -> None:
    """`broken`: the folder into which nothing fits any more."""
    site = small_site(tmp_path, "pond", filmed=["pond"])
    seen_as(monkeypatch, [dig()])
    watch(site, tmp_path / "nights")
    earlier = contents(tmp_path / "nights")
    flush = writing.flush

    def full(path: Path) -> None:
        if path.parent.name == broken:
            raise OSError(errno.ENOSPC, "No space left on device")
        flush(path)

    for module in (writing, files):
        monkeypatch.setattr(module, "flush", full)
    seen_as(monkeypatch, [dig(40)])
    with pytest.raises(OutputError, match=r"the disk is full; free some space and run again"):
        watch(site, tmp_path / "nights", fresh=True)
    now = contents(tmp_path / "nights")
    assert {name: now.get(name) for name in earlier if "work" not in name} == {
        name: content for name, content in earlier.items() if "work" not in name
    }
    assert not [name for name in now if name.endswith(".part")]


def test_pictures_are_named_by_time_and_place_and_cleared_when_no_report_names_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = small_site(tmp_path, "pond", filmed=["pond"])
    seen_as(monkeypatch, [dig(0), dig(50)])
    watch(site, tmp_path / "nights")
    folder = tmp_path / "nights" / "2026-06-12"
    assert {path.name for path in (folder / "clips").iterdir()} == {
        "pond_220005_20x60.mp4",
        "pond_220005_70x60.mp4",
    }
    (folder / "pictures" / "my own.jpg").write_bytes(b"kept")
    (folder / "pictures" / ".pond_220005_20x60_before.jpg.123.part").write_bytes(b"of a killed run")
    seen_as(monkeypatch, [dig(50)])
    watch(site, tmp_path / "nights", fresh=True)
    assert {path.name for path in (folder / "clips").iterdir()} == {"pond_220005_70x60.mp4"}
    pictures = {path.name for path in (folder / "pictures").iterdir() if "_visitor" not in path.name}
    assert pictures == {
        "my own.jpg",
        "pond-seen.jpg",
        *(f"pond_220005_70x60_{name}.jpg" for name in ("before", "during", "after", "overview")),
    }


def test_a_fit_to_the_finds_changes_likelihoods_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = small_site(tmp_path, "pond", filmed=["pond"])
    seen_as(monkeypatch, [dig(0), dig(30), dig(60, call="trial")])
    before = watch(site, tmp_path / "nights").document
    # What the cameras saw is kept from the first run as it was built: putting it right twice would show.
    for fit in (FIT, FIT, None):
        after = watch(site, tmp_path / "nights", fit=fit).document
        assert (after["likelihood_fit"] is None) == (fit is None)
        for old, new in zip(before["digs"], after["digs"], strict=True):
            right = old["likelihood"] if fit is None else round(fit.scale.one(old["likelihood"]), 3)
            as_built = None if fit is None else old["likelihood"]
            assert new == {**old, "likelihood": right, "likelihood_as_built": as_built}
    assert after == before


def test_a_rest_has_pictures_but_no_clip(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    site = small_site(tmp_path, "pond", filmed=["pond"])
    seen_as(monkeypatch, [dig(call="rest")])
    document = watch(site, tmp_path / "nights").document
    assert all(document["digs"][0]["pictures"].values())
    assert document["digs"][0]["clip"] is None


def test_no_more_than_thirty_digs_get_pictures_the_best_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = small_site(tmp_path, "pond", filmed=["pond"])
    seen_as(monkeypatch, [dig(number, call="rest") for number in reversed(range(33))])
    digs = watch(site, tmp_path / "nights").document["digs"]
    assert [dig["pictures"]["overview"] is not None for dig in digs] == [True] * 30 + [False] * 3


class Horizon:
    """A plan that knows the ground left of x = 50 only."""

    def below(self, pixel: tuple[float, float], height_m: float) -> NDArray[np.float64]:
        return np.array((1.0, 2.0) if pixel[0] < 50 else (np.nan, np.nan))

    def within_m(self, point: tuple[float, float], radius_px: float, *, height_sigma_m: float) -> float:
        return 0.1

    def shell_pixels(self, point: tuple[float, float], length_m: float) -> float:
        return 100.0 * length_m if point[0] < 50 else float("nan")


def test_above_the_horizon_there_is_no_place_on_the_plan(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = small_site(tmp_path, "pond", filmed=["pond"])
    monkeypatch.setattr(camera_night, "plan_map", lambda *_: Horizon())
    seen_as(monkeypatch, [dig(0), dig(60)])
    near, far = watch(site, tmp_path / "nights").document["digs"]
    assert near["plan_m"] == [1.0, 2.0]
    assert near["within_m"] == 0.1
    assert (far["plan_m"], far["within_m"], far["shell_length_cm"]) == (None, None, None)
