"""Stand-ins for the nightly job and the renderer, so that the commands are tested by themselves."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from nestwatch.site.records import Site

DOCUMENT = {"format": "nestwatch-night/1", "site": "Linden Fen", "night": "2026-06-12", "digs": []}
SUMMARY = ("Everything in nesting hours was seen by the camera.", "1. nest, eggs 93 %: 21:10-23:40, zürich")


@dataclass(frozen=True)
class Progress:
    """As `nestwatch.night.Progress`."""

    camera: str
    done: float
    of: float
    doing: str


@dataclass(frozen=True)
class NightResult:
    """As `nestwatch.night.NightResult`."""

    document: dict[str, Any]
    folder: Path
    summary: tuple[str, ...]
    partial: bool


@dataclass
class Job:
    """Notes how it was called; then raises `trouble`, or tells `steps` and gives a result."""

    trouble: BaseException | None = None
    partial: bool = False
    steps: tuple[Progress, ...] = ()
    calls: list[tuple[Site, date, Path, dict[str, Any]]] = field(default_factory=list)

    def run_night(self, site: Site, night: date, out: Path, **options: Any) -> NightResult:
        progress: Callable[[Progress], None] = options.pop("progress")
        self.calls.append((site, night, out, options))
        for step in self.steps:
            progress(step)
        if self.trouble is not None:
            raise self.trouble
        folder = out / night.isoformat()
        return NightResult(DOCUMENT, folder, SUMMARY, self.partial)

    def install(self, monkeypatch: pytest.MonkeyPatch) -> Job:
        """Put it where the commands import the job from."""
        module = ModuleType("nestwatch.night")
        module.__dict__["run_night"] = self.run_night
        monkeypatch.setitem(sys.modules, "nestwatch.night", module)
        return self


@dataclass
class Renderer:
    """Writes a site file, a truth and an empty recording; counts its calls."""

    site_text: str
    calls: list[tuple[str, int]] = field(default_factory=list)
    trouble: BaseException | None = None

    def load_scenario(self, name: str, overrides: Mapping[str, object] | None = None) -> str:
        assert (overrides is None) == (name != "plain-nest")
        return name

    def render_night(
        self,
        scenario: str,
        folder: Path,
        *,
        seed: int,
        overrides: Mapping[str, object] | None = None,
        processes: int = 1,
        progress: Callable[[int, int], None] | None = None,
    ) -> Path:
        self.calls.append((scenario, seed))
        (folder / "footage").mkdir()
        (folder / "footage" / f"{seed}.mp4").write_bytes(b"")
        if self.trouble is not None:
            raise self.trouble
        (folder / "truth.json").write_text(json.dumps({"night": "2026-06-12"}), encoding="utf-8")
        (folder / "site.toml").write_text(self.site_text, encoding="utf-8")
        assert progress is not None
        progress(1, 1)
        return folder / "site.toml"

    def install(self, monkeypatch: pytest.MonkeyPatch) -> Renderer:
        """Put it where the demo imports the renderer from."""
        module = ModuleType("nestwatch.synthetic")
        module.__dict__.update(load_scenario=self.load_scenario, render_night=self.render_night)
        monkeypatch.setitem(sys.modules, "nestwatch.synthetic", module)
        return self
