"""Timers: each file is read back the way its system reads it, with paths that need every kind of quoting."""

from __future__ import annotations

import plistlib
import re
import shlex
import shutil
import subprocess
import sys
import xml.etree.ElementTree as ET
from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from nestwatch.errors import SiteError
from nestwatch.site.file import load_site
from nestwatch.site.records import Site
from nestwatch.unattended import cron, launchd, systemd, windows
from nestwatch.unattended.job import Job, default_time, elsewhere, nightly_job
from tests.site.sites import written

TODAY = date(2026, 6, 13)
POSIX = pytest.mark.skipif(sys.platform == "win32", reason="paths with these letters are not possible there")


def site(tmp_path: Path, folder: str = "größer 5%h $HOME it's") -> Site:
    place = tmp_path / folder
    place.mkdir(exist_ok=True)
    return load_site(written(place))


def job(tmp_path: Path, *, own_zone: str = "Europe/Paris", notify: bool = False) -> Job:
    return nightly_job(site(tmp_path), own_zone, TODAY, notify=notify)


def text(unit_content: bytes) -> str:
    return unit_content.decode("utf-8")


# When --------------------------------------------------------------------------------------------------


def test_ten_minutes_after_the_night_ends(tmp_path: Path) -> None:
    found = site(tmp_path)
    assert default_time(found) == time(9, 10)
    assert default_time(replace(found, night=(time(12), time(23, 55)))) == time(0, 5)
    assert nightly_job(found, "Europe/Paris", TODAY, at=time(7, 30)).at == time(7, 30)


@pytest.mark.parametrize(
    ("zone", "other", "clock"),
    [
        ("Europe/Paris", "Europe/Paris", time(9, 10)),
        ("Europe/Paris", "Europe/London", time(8, 10)),
        ("Europe/Paris", "Asia/Kolkata", time(13, 40)),  # 12:40 in summer
        ("Europe/Paris", "Pacific/Auckland", time(21, 10)),  # 19:10 in the European summer
        ("America/New_York", "Europe/Paris", time(15, 10)),  # 14:10 in March, between the two changes
    ],
)
def test_by_another_computer_s_clocks_never_too_early(zone: str, other: str, clock: time) -> None:
    assert elsewhere(time(9, 10), zone, other, TODAY) == clock
    for days in range(366):
        due = datetime.combine(TODAY + timedelta(days=days), time(9, 10), ZoneInfo(zone))
        there = due.astimezone(ZoneInfo(other))
        run = there.replace(hour=clock.hour, minute=clock.minute)
        assert timedelta(0) <= run - there <= timedelta(hours=2)


# The files ---------------------------------------------------------------------------------------------


def test_the_job_is_the_nightly_one(tmp_path: Path) -> None:
    found = job(tmp_path, notify=True)
    path = str((tmp_path / "größer 5%h $HOME it's" / "site.toml").resolve())
    assert found.arguments == (sys.executable, "-m", "nestwatch", "night", path, "--notify")
    assert (found.folder, found.name) == (Path(path).parent, "nestwatch-linden-fen")


def test_a_name_of_other_letters_still_gives_a_file_name(tmp_path: Path) -> None:
    assert nightly_job(replace(site(tmp_path), name="龜池"), "Europe/Paris", TODAY).name == "nestwatch-site"


def test_a_path_over_two_lines_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "two\nlines"
    folder.mkdir()
    with pytest.raises(SiteError, match="rename the file or its folder"):
        nightly_job(load_site(written(folder)), "Europe/Paris", TODAY)


@POSIX
def test_systemd_takes_its_files(tmp_path: Path, outside_tool: Callable[[str], str]) -> None:
    """`systemd-analyze verify` finds the program at its quoted path, and complains where there is none."""
    analyze = outside_tool("systemd-analyze")
    strange = tmp_path / "py 5%h $x"
    strange.symlink_to(sys.executable)
    for number, program in enumerate((str(strange), str(tmp_path / "nobody"))):
        folder = tmp_path / str(number)
        folder.mkdir()
        found = job(tmp_path, notify=True)
        for unit in systemd.units(replace(found, arguments=(program, *found.arguments[1:]))):
            (folder / unit.name).write_bytes(unit.content)
        units = [str(folder / f"{found.name}.{kind}") for kind in ("service", "timer")]
        done = subprocess.run(
            [analyze, "verify", "--man=no", *units], capture_output=True, text=True, check=False
        )
        ours = [line for line in done.stderr.splitlines() if found.name in line or "Unknown" in line]
        assert bool(ours) == (number == 1), done.stderr
        assert number == 0 or "nobody" in ours[0]


def test_systemd_timer_runs_by_the_site_s_clocks_and_makes_up_for_missed_nights(tmp_path: Path) -> None:
    service, timer = (text(unit.content) for unit in systemd.units(job(tmp_path)))
    assert "OnCalendar=*-*-* 09:10:00 Europe/Paris\n" in timer
    assert "Persistent=true\n" in timer
    assert "WantedBy=timers.target\n" in timer
    assert re.search(r"^WorkingDirectory=.*größer 5%%h \$HOME it's$", service, re.MULTILINE)
    assert service.count("5%%h $$HOME it's/site.toml\"") == 1
    assert "EnvironmentFile" not in service


@POSIX
def test_systemd_knows_the_calendar_line(tmp_path: Path, outside_tool: Callable[[str], str]) -> None:
    analyze = outside_tool("systemd-analyze")
    timer = text(systemd.units(job(tmp_path))[1].content)
    line = re.search(r"^OnCalendar=(.*)$", timer, re.MULTILINE)
    assert line is not None
    done = subprocess.run([analyze, "calendar", line[1]], capture_output=True, text=True, check=True)
    assert "Normalized form: *-*-* 09:10:00 Europe/Paris" in done.stdout


@POSIX
@pytest.mark.parametrize("shell", ["sh", "bash"])
def test_cron_s_line_runs_the_command(tmp_path: Path, shell: str) -> None:
    """Read as crontab(5) says (five fields; `\\%` becomes `%`), then run by a shell with a program that tells
    what it was given."""
    teller = tmp_path / "tell me.py"
    out = tmp_path / "told"
    teller.write_text(
        f"import os, sys; open({str(out)!r}, 'w').write('\\n'.join([os.getcwd(), *sys.argv[1:]]))"
    )
    found = job(tmp_path, own_zone="Europe/London")
    found = replace(found, arguments=(sys.executable, str(teller), *found.arguments[1:]))
    *fields, command = cron.line(found).split(" ", 5)
    assert fields == ["10", "8", "*", "*", "*"]
    assert not re.search(r"(?<!\\)%", command)
    subprocess.run([shutil.which(shell) or "sh", "-c", command.replace(r"\%", "%")], check=True)
    assert out.read_text().splitlines() == [str(found.folder), *found.arguments[2:]]
    assert (found.folder / cron.LOG).is_file()


def test_launchd(tmp_path: Path) -> None:
    found = job(tmp_path, own_zone="Europe/London")
    (unit,) = launchd.units(found)
    content = plistlib.loads(unit.content)
    assert unit.name == f"{content['Label']}.plist"
    assert content["ProgramArguments"] == list(found.arguments)
    assert content["WorkingDirectory"] == str(found.folder)
    assert content["StartCalendarInterval"] == {"Hour": 8, "Minute": 10}
    assert content["StandardErrorPath"] == content["StandardOutPath"]


def windows_arguments(line: str) -> list[str]:
    """A command line taken apart as Microsoft's C runtime does: 2n backslashes and a quote, and so on."""
    parts, now, quoted, slashes = [], "", False, 0
    for letter in f"{line} ":
        if letter == "\\":
            slashes += 1
            continue
        if letter == '"':
            now += "\\" * (slashes // 2) + ('"' if slashes % 2 else "")
            quoted ^= slashes % 2 == 0
        elif letter == " " and not quoted:
            parts.append(now + "\\" * slashes)
            now = ""
        else:
            now += "\\" * slashes + letter
        slashes = 0
    return [part for part in parts if part]


def test_windows(tmp_path: Path) -> None:
    folder = Path("C:\\Turtles & Co")
    arguments = (
        "C:\\Py thon\\python.exe",
        "-m",
        "nestwatch",
        "night",
        "C:\\Turtles & Co\\größer <1>\\site.toml",
    )
    found = replace(
        job(tmp_path, own_zone="Europe/London"), arguments=arguments, folder=folder, user="FEN\\rosa"
    )
    (unit,) = windows.units(found)
    assert unit.content[:2] in {b"\xff\xfe", b"\xfe\xff"}
    root = ET.fromstring(unit.content)

    def at(path: str) -> str | None:
        return root.findtext("/".join(f"{{{windows.NAMESPACE}}}{step}" for step in path.split("/")))

    assert at("Triggers/CalendarTrigger/StartBoundary") == "2026-01-01T08:10:00"
    assert at("Triggers/CalendarTrigger/ScheduleByDay/DaysInterval") == "1"
    assert at("Principals/Principal/UserId") == "FEN\\rosa"
    assert (at("Settings/StartWhenAvailable"), at("Settings/WakeToRun")) == ("true", "true")
    assert (at("Settings/DisallowStartIfOnBatteries"), at("Settings/StopIfGoingOnBatteries")) == (
        "false",
        "false",
    )
    assert (at("Actions/Exec/Command"), at("Actions/Exec/WorkingDirectory")) == (arguments[0], str(folder))
    assert windows_arguments(at("Actions/Exec/Arguments") or "") == list(arguments[1:])
    # The schema wants its parts in this order (Task Scheduler Schema, complexType taskType).
    assert [child.tag.rpartition("}")[2] for child in root] == [
        "RegistrationInfo",
        "Triggers",
        "Principals",
        "Settings",
        "Actions",
    ]


@pytest.mark.parametrize("writer", [systemd, cron, launchd, windows])
@pytest.mark.parametrize("notify", [True, False])
def test_the_steps_tell_where_the_password_goes(tmp_path: Path, writer: object, notify: bool) -> None:
    steps = writer.steps(job(tmp_path, notify=notify))  # type: ignore[attr-defined]
    assert any("password" in step for step in steps) == notify
    assert all(step == step.strip() and "\n" not in step for step in steps)


def test_quoting_of_cron_is_that_of_the_shell(tmp_path: Path) -> None:
    found = job(tmp_path)
    command = cron.line(found).split(" ", 5)[5].replace(r"\%", "%")
    assert shlex.split(command)[3 : 3 + len(found.arguments)] == list(found.arguments)
