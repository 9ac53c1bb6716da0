"""docs/incubation.md says what is so: its commands run in order, its profile is read."""

from __future__ import annotations

import re
import shlex
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from nestwatch.commands import record_context
from nestwatch.commands.clutch_group import clutch as group
from nestwatch.commands.main import main
from nestwatch.season.incubation.profile import read_profile
from tests.conftest import ROOT
from tests.season.records import dig_entry, written_night
from tests.site.sites import GOOD

TEXT = (ROOT / "docs" / "incubation.md").read_text(encoding="utf-8")
COMMANDS = re.findall(r"^    nestwatch (clutch .+)$", TEXT, re.MULTILINE)


def test_the_commands_run_in_their_order(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "site.toml").write_text(GOOD, encoding="utf-8")
    (tmp_path / "logger.csv").write_text("time,temp\n2026-06-14 10:00,28.4\n", encoding="utf-8")
    written_night(tmp_path, [dig_entry()])
    monkeypatch.chdir(tmp_path)
    for command in COMMANDS:
        late = " hatch" in command or "calendar" in command
        now = datetime(2026, 8, 19, 8, tzinfo=UTC) if late else datetime(2026, 6, 14, 9, tzinfo=UTC)
        monkeypatch.setattr(record_context, "now", lambda now=now: now)
        result = CliRunner().invoke(main, shlex.split(command))
        assert result.exit_code == 0, f"{command}: {result.output}"
    assert len(COMMANDS) == 14


def test_every_sub_command_is_described() -> None:
    assert [name for name in group.commands if f"clutch {name} " not in TEXT and name != "eggs"] == []


def test_the_profile_is_read() -> None:
    start = TEXT.index('    format = "nestwatch-profile/1"')
    lines = TEXT[start : TEXT.index("## Labels")].splitlines()
    profile = read_profile("mine", "\n".join(line[4:] for line in lines), "docs")
    assert [each.words() for each in profile.days] == [
        "58 to 71 days at 27.5 to 28.5 °C [my own incubator, 2019 to 2025, 31 clutches (own records)]"
    ]
    assert profile.alarm_c is not None
    assert profile.alarm_c.credit == "[no source]"
    assert profile.model is not None
    assert profile.sex is not None
