"""Ctrl-C in the middle of a night of two cameras: nothing half-written, and nothing finished is lost."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from nestwatch import camera_night
from nestwatch.footage import Skim
from nestwatch.footage.records import Footage
from nestwatch.night import run_night
from nestwatch.site import load_site
from tests.night.sites import FIRST, NIGHT, SECOND, contents, sample_site

pytestmark = pytest.mark.skipif(os.name == "nt", reason="Windows has no signal for a group of processes")


def test_ctrl_c_keeps_the_finished_camera_and_nothing_half_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = sample_site(tmp_path, {"short": (), "long": (FIRST, SECOND)})
    (tmp_path / "short" / FIRST).write_bytes(b"")  # nothing to decode: finished at once
    out = tmp_path / "nights"
    said = stopped(site, out, when=out / "2026-06-12" / "work" / "short.json")
    assert said.splitlines()[-1] == "nestwatch: stopped; finished cameras are kept, nothing is half-written"
    assert "Traceback" not in said
    assert [name for name in contents(out) if not name.startswith("2026-06-12/pictures/")] == [
        "2026-06-12/work/short.json"
    ]

    watched = []

    def noted(footage: Footage, *, every_s: float, width: int) -> Skim:
        watched.append(footage.camera)
        return Skim(footage, every_s=4 * every_s, width=width)

    monkeypatch.setattr(camera_night, "Skim", noted)
    result = run_night(load_site(site), NIGHT, out, workers=1)
    assert watched == ["long"]
    assert result.document["footage"][1]["seconds_read"] == pytest.approx(9000, abs=1)


def stopped(site: Path, out: Path, *, when: Path) -> str:
    """What `nestwatch night` says on stderr, stopped as a terminal does as soon as `when` is there."""
    command = [sys.executable, "-m", "nestwatch", "night", str(site), "--date", "2026-06-12"]
    process = subprocess.Popen(
        [*command, "--out", str(out), "--workers", "2"],
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        start_new_session=True,
    )
    try:
        deadline = time.monotonic() + 60
        while not when.exists() and process.poll() is None and time.monotonic() < deadline:
            time.sleep(0.02)
        time.sleep(1.0)  # the other camera is then in the middle of its night
        os.killpg(process.pid, signal.SIGINT)
        said = process.communicate(timeout=60)[1]
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
    assert process.returncode == 130
    return said
