"""The nightly job as a line of a crontab. Pure. After crontab(5)."""

from __future__ import annotations

import shlex

from nestwatch.unattended.job import Job, Unit

LOG = "nestwatch-nightly.log"


def units(job: Job) -> tuple[Unit, ...]:
    """The one line, as a file to copy from."""
    return (Unit(f"{job.name}.cron", f"{line(job)}\n".encode()),)


def line(job: Job) -> str:
    """Minute, hour, every day, and the command; by this computer's clocks."""
    command = f"cd {shlex.quote(str(job.folder))} && {shlex.join(job.arguments)} >> {LOG} 2>&1"
    # Cron takes a bare per cent sign for the end of the line.
    escaped = command.replace("%", r"\%")
    return f"{job.own_clock.minute} {job.own_clock.hour} * * * {escaped}"


def steps(job: Job) -> tuple[str, ...]:
    """What to do with it."""
    secret = (
        "For the mail password: write NESTWATCH_MAIL_PASSWORD=... on a line of its own above it (only you "
        "can read your crontab).",
    )
    return (
        "Type crontab -e and add the line at the end.",
        f"What it says goes to {job.folder / LOG}",
        "Cron does not make up for a night missed while the computer was off; where there is systemd, take "
        "--for systemd.",
        *(secret if job.notify else ()),
    )
