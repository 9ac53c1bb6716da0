"""`nestwatch schedule`: the nightly run told to the system's own timer."""

from __future__ import annotations

import os
import shutil
import sys
from datetime import UTC, datetime, time
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from nestwatch.commands.boundary import answer
from nestwatch.commands.options import site_argument

if TYPE_CHECKING:
    from nestwatch.unattended.job import Job, Unit

TIMERS = ("systemd", "cron", "launchd", "windows")


class ClockTime(click.ParamType[time]):
    """A time of day such as 09:10."""

    name = "HH:MM"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> time:
        """Text to a time; a usage error otherwise."""
        if isinstance(value, time):
            return value
        try:
            return datetime.strptime(value, "%H:%M").time()  # noqa: DTZ007 - a time of day has no zone
        except ValueError:
            self.fail(f'"{value}" is not a time; write hours and minutes, such as 09:10.', param, ctx)


@click.command()
@site_argument
@click.option(
    "--for",
    "timer",
    type=click.Choice(TIMERS),
    help="Which timer. Default: the one of this computer (systemd or else cron on Linux).",
)
@click.option(
    "--at",
    type=ClockTime(),
    help="When, by the site's clocks. Default: ten minutes after the site's night ends.",
)
@click.option("--notify", is_flag=True, help="Run it with --notify: send a short message about each night.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="Write the files into this folder instead of printing them; none is overwritten.",
)
def schedule(site_file: Path, timer: str | None, at: time | None, notify: bool, out: Path | None) -> None:
    """Print what makes this computer watch every night by itself.

    The file, or the line for cron, goes to stdout, and what to do with it to stderr. Run it on the computer
    that is to do the work, with the Python that nestwatch is installed in.
    """
    from nestwatch.site import load_site
    from nestwatch.unattended.job import nightly_job
    from nestwatch.unattended.tell import require_notify

    site = load_site(site_file)
    if notify:
        require_notify(site)
    kind = timer or own_timer(sys.platform)
    today = datetime.now(UTC).date()
    job = nightly_job(site, _own_zone() or site.timezone, today, at=at, notify=notify, user=_user())
    writer = import_module(f"nestwatch.unattended.{kind}")
    _hand_over(writer.units(job), out)
    for line in (*_remarks(job, kind, printed=out is None), *writer.steps(job)):
        click.echo(line, err=True)


def _own_zone() -> str | None:
    """The computer's time zone, None where it cannot be told."""
    import tzlocal

    try:
        return str(tzlocal.get_localzone_name()) or None
    except Exception:  # whatever a computer's odd settings raise
        return None


def _user() -> str | None:
    r"""`DOMAIN\name` on Windows, where a task is told whose it is."""
    parts = [os.environ.get(name) for name in ("USERDOMAIN", "USERNAME")]
    return "\\".join(part for part in parts if part) if all(parts) and sys.platform == "win32" else None


def own_timer(platform: str) -> str:
    """The timer of a computer, by `sys.platform`."""
    by_system = {"win32": "windows", "darwin": "launchd"}
    return by_system.get(platform) or ("systemd" if shutil.which("systemctl") else "cron")


def _hand_over(units: tuple[Unit, ...], out: Path | None) -> None:
    """Print the files, or write them."""
    from nestwatch.site.keep import write_new

    if out is None:
        texts = [_printed(unit, several=len(units) > 1) for unit in units]
        answer("\n".join(texts))
        return
    for unit in units:
        write_new(out / unit.name, unit.content)
        answer(str(out / unit.name))


def _printed(unit: Unit, *, several: bool) -> str:
    text = unit.content.decode("utf-16" if unit.content[:2] in {b"\xff\xfe", b"\xfe\xff"} else "utf-8")
    text = text.replace("\r\n", "\n").rstrip("\n")
    return f"# {unit.name}\n{text}\n" if several else text


def _remarks(job: Job, kind: str, *, printed: bool) -> list[str]:
    """When it runs, and what is odd about it."""
    lines = [f"Every day at {job.at:%H:%M} by the clocks of {job.zone}."]
    if kind != "systemd" and job.own_clock != job.at:
        lines.append(f"This computer's clocks differ: {job.own_clock:%H:%M} by them is never before that.")
    if (sys.platform == "win32") != (kind == "windows"):
        lines.append("The paths are of this computer: run this on the one that is to do the work.")
    if printed and kind != "cron":
        lines.append("With --out DIR the files are written, ready to use, instead of printed.")
    return lines
