"""Scenario files: every one loads, mistakes are named, any key is one option away."""

from __future__ import annotations

import ast
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner

from nestwatch.errors import ScenarioError
from nestwatch.synthetic import load_scenario
from nestwatch.synthetic.__main__ import main
from nestwatch.synthetic.nuisances import kinds, make_plans
from nestwatch.synthetic.scenario import SAMPLES, Scenario
from nestwatch.synthetic.story import make_clock, make_story
from nestwatch.synthetic.truth import truth_text

NAMES = sorted(path.stem for path in SAMPLES.glob("*.toml"))
ROOT = Path(__file__).resolve().parents[2]


def _write(folder: Path, more: str) -> Path:
    path = folder / "mine.toml"
    head = 'format = "nestwatch-scenario/1"\nname = "mine"\n'
    path.write_text(
        f'{head}{more}\n[night]\ndate = "2026-06-12"\nfrom = "20:00"\nto = "23:00"\n', encoding="utf-8"
    )
    return path


@pytest.mark.parametrize("name", NAMES)
def test_every_sample_scenario_tells_a_story(name: str) -> None:
    assert f'"scenario": "{load_scenario(name).name}"' in truth_text(make_story(load_scenario(name), 3))


def test_the_first_set_is_complete() -> None:
    wanted = {
        "plain-nest",
        "two-trials-then-nest",
        "resting",
        "empty-wind-insects-rain",
        "two-females",
        "sample",
    }
    assert wanted <= set(NAMES)


def test_unknown_key_is_refused_with_a_proposal(tmp_path: Path) -> None:
    with pytest.raises(ScenarioError) as refused:
        load_scenario(_write(tmp_path, "[video]\ngop = 4"))
    assert str(refused.value) == (
        "mine.toml: unknown key 'video.gop' (did you mean 'gop_s'?); remove it or spell it right."
    )


@pytest.mark.parametrize(
    ("more", "part"),
    [
        pytest.param("[video]\nfps = 0", "video.fps", id="no frames"),
        pytest.param("[light]\nir_level = [150, 100]", "[low, high]", id="pair backwards"),
        pytest.param('[[camera]]\nside = "above"', "camera.0.side", id="unknown side"),
        pytest.param("[video", "not a TOML file", id="broken TOML"),
    ],
)
def test_wrong_values_are_named(tmp_path: Path, more: str, part: str) -> None:
    with pytest.raises(ScenarioError) as refused:
        load_scenario(_write(tmp_path, more))
    assert part in str(refused.value)
    assert "\n" not in str(refused.value)


def test_unknown_name_lists_the_known() -> None:
    with pytest.raises(ScenarioError, match="plain-nest"):
        load_scenario("plane-nest")


@pytest.mark.parametrize(
    ("table", "part"),
    [
        pytest.param('kind = "ghost"', "no kind 'ghost'", id="kind"),
        pytest.param('kind = "rain"\nstreeks = 3', "streeks", id="setting"),
        pytest.param('kind = "wind"\nstrength = "strong"', "strength", id="type"),
        pytest.param('kind = "fog"\nrange_m = 0', "range_m: must be above 0", id="not above zero"),
        pytest.param('kind = "sparkle"\nshare = 1.5', "share: must lie between 0 and 1", id="no share"),
        pytest.param('kind = "shadow"\nthrown_by = "torch"', "thrown_by", id="no such light"),
    ],
)
def test_unknown_nuisance_is_refused(tmp_path: Path, table: str, part: str) -> None:
    path = _write(tmp_path, f'[[nuisance]]\nfrom = "21:00"\nto = "22:00"\n{table}')
    scenario = load_scenario(path)
    with pytest.raises(ScenarioError, match=part):
        make_plans(scenario, make_clock(scenario.night), 1)


def test_overrides_reach_into_lists_of_tables() -> None:
    changed = load_scenario("two-females", {"animal.contrast": -0.05, "animal.0.name": "A", "video.fps": 2})
    assert [animal.contrast for animal in changed.animal] == [(-0.05, -0.05)] * 3
    assert [animal.name for animal in changed.animal] == ["A", "F2", "M1"]
    assert changed.video.fps == 2


def test_command_line_refuses_with_exit_code_2(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["plain-nest", str(tmp_path), "--set", "video.fbs=2"])
    assert result.exit_code == 2
    assert result.output.startswith("Error: plain-nest.toml: unknown key 'video.fbs' (did you mean 'fps'?)")


def test_every_key_and_kind_is_documented() -> None:
    text = (ROOT / "docs" / "synthetic.md").read_text(encoding="utf-8")
    parts = [Scenario, *Scenario.__base__.__subclasses__()]  # type: ignore[union-attr]
    keys = {field.alias or name for part in parts for name, field in part.model_fields.items()}
    keys |= set(kinds()) | {name for kind in kinds().values() for name in kind.Settings.model_fields}
    assert sorted(key for key in keys if f"`{key}`" not in text) == []


def test_rendering_shares_nothing_with_the_search_for_digs() -> None:
    forbidden = {"ground", "nesting", "footage", "report", "night"}
    modules = [*(ROOT / "nestwatch" / "synthetic").rglob("*.py")]
    skipped = {"scoring.py", "matching.py"}  # These judge the search's answers against the truth.
    found = set()
    for path in modules:
        if path.name in skipped:
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            names += [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            found |= {name.split(".")[1] for name in names if name.startswith("nestwatch.")}
    assert found & forbidden == set()
    assert "synthetic" in found


def test_the_kept_night_is_the_sample_scenario() -> None:
    night = SAMPLES / "night"
    assert truth_text(make_story(load_scenario("sample"), 5)) == (night / "truth.json").read_text(
        encoding="utf-8"
    )
    assert tomllib.loads((night / "site.toml").read_text(encoding="utf-8"))["format"] == "nestwatch-site/1"
    assert sum(path.stat().st_size for path in night.rglob("*") if path.is_file()) < 3_000_000
