"""Sites of several cameras for whole runs: on the kept sample night, and on films of seconds."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterable
from datetime import date, datetime
from pathlib import Path
from typing import Any

from nestwatch.site import load_site
from nestwatch.site.records import Site
from tests.footage.films import even, film

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "synthetic" / "night"
NIGHT = date(2026, 6, 12)
FIRST, SECOND = "sandbank_20260612T210000.mp4", "sandbank_20260612T221500.mp4"

_HEAD = """\
format = "nestwatch-site/1"
[site]
name = "Linden Fen"
timezone = "Europe/Paris"
latitude = 47.2
longitude = 1.6
units = "metric"
night = ["22:00", "22:02"]
[animal]
name = "European pond turtle"
shell_length_cm = [12, 20]
"""
_CAMERA = """\
[[camera]]
name = "{name}"
footage = "{name}"
stamp = "pen_%Y%m%dT%H%M%S"
clock = "local"
picture = [160, 120]
[[camera.zone]]
name = "bank"
kind = "nesting"
outline = [[5, 5], [155, 5], [155, 115], [5, 115]]
"""


def truth() -> Any:
    """The sample night's truth."""
    return json.loads((SAMPLE / "truth.json").read_text(encoding="utf-8"))


def sample_site(folder: Path, cameras: dict[str, Iterable[str]]) -> Path:
    """A site file of the sample night with one camera for each name, holding those recordings of it."""
    text = (SAMPLE / "site.toml").read_text(encoding="utf-8")
    head, camera = text.split("[[camera]]")
    blocks = []
    for name, recordings in cameras.items():
        (folder / name).mkdir(parents=True)
        for recording in recordings:
            shutil.copy(SAMPLE / "footage" / "sandbank" / recording, folder / name / recording)
        own = camera.replace('"sandbank"', f'"{name}"').replace('"footage/sandbank"', f'"{name}"')
        blocks.append(own)
    path = folder / "site.toml"
    path.write_text("[[camera]]".join([head, *blocks]), encoding="utf-8")
    return path


def small_site(folder: Path, *cameras: str, filmed: Iterable[str]) -> Site:
    """Cameras with a film of 40 s from 22:00 on where they are `filmed`, else with an empty folder."""
    for name in cameras:
        (folder / name).mkdir(parents=True)
    for name in filmed:
        film(folder / name / "pen_20260612T220000.mp4", even(40.0, fps=5), fps=5, key_every=10)
    path = folder / "site.toml"
    path.write_text(_HEAD + "".join(_CAMERA.format(name=name) for name in cameras), encoding="utf-8")
    return load_site(path)


def at(instant: str) -> datetime:
    """A time of a night file or of a truth."""
    return datetime.fromisoformat(instant)


def contents(folder: Path) -> dict[str, bytes]:
    """Every file below a folder but the lock."""
    files = (path for path in folder.rglob("*") if path.is_file() and path.name != ".running")
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}
