"""The nightly job for macOS: a launch agent. Pure. After launchd.plist(5)."""

from __future__ import annotations

import plistlib

from nestwatch.unattended.job import Job, Unit

FOLDER = "~/Library/LaunchAgents"
LOG = "nestwatch-nightly.log"


def units(job: Job) -> tuple[Unit, ...]:
    """The agent's property list."""
    content = {
        "Label": job.name,
        "ProgramArguments": list(job.arguments),
        "WorkingDirectory": str(job.folder),
        "StartCalendarInterval": {"Hour": job.own_clock.hour, "Minute": job.own_clock.minute},
        "StandardOutPath": str(job.folder / LOG),
        "StandardErrorPath": str(job.folder / LOG),
        "ProcessType": "Background",
    }
    return (Unit(f"{job.name}.plist", plistlib.dumps(content)),)


def steps(job: Job) -> tuple[str, ...]:
    """What to do with it."""
    file = f"{FOLDER}/{job.name}.plist"
    secret = (
        "For the mail password: keyring set nestwatch USER stores it in the keychain (pip install keyring).",
    )
    return (
        f"Put the file into {FOLDER}",
        f"Then: launchctl bootstrap gui/$(id -u) {file}",
        f"Try it at once: launchctl kickstart gui/$(id -u)/{job.name}",
        f"What it says goes to {job.folder / LOG}",
        "A night missed while the computer slept is made up for when it wakes, not one missed while it was "
        "off. To have it woken: sudo pmset repeat wakeorpoweron MTWRFSU "
        f"{job.own_clock:%H:%M}:00",
        "macOS may ask whether Python may read the folder of recordings: allow it.",
        *(secret if job.notify else ()),
    )
