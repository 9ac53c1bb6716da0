"""The nightly job for Windows: a task of the Task Scheduler. Pure.

After Microsoft's Task Scheduler schema (version 1.2); its elements have a fixed order.
"""

from __future__ import annotations

import subprocess
import xml.etree.ElementTree as ET
from datetime import date, datetime
from typing import Any

from nestwatch.unattended.job import Job, Unit

NAMESPACE = "http://schemas.microsoft.com/windows/2004/02/mit/task"


def units(job: Job) -> tuple[Unit, ...]:
    """The task's XML, in UTF-16 as the Task Scheduler itself writes it."""
    root = ET.Element("Task", {"version": "1.2", "xmlns": NAMESPACE})
    _fill(root, _content(job))
    ET.indent(root)
    text = '<?xml version="1.0" encoding="UTF-16"?>\n' + ET.tostring(root, encoding="unicode") + "\n"
    return (Unit(f"{job.name}.xml", text.replace("\n", "\r\n").encode("utf-16")),)


def steps(job: Job) -> tuple[str, ...]:
    """What to do with it."""
    secret = (
        "For the mail password: keyring set nestwatch USER stores it in the Credential Manager (pip install "
        "keyring).",
    )
    return (
        f'In a command window: schtasks /Create /TN {job.name} /XML "{job.name}.xml"',
        f"Try it at once: schtasks /Run /TN {job.name}",
        "The computer is woken for it, and a night missed while it was off is made up for (the last one "
        "only). You must be logged in; the screen may be locked.",
        *(secret if job.notify else ()),
    )


def _content(job: Job) -> dict[str, Any]:
    # Any day that is over will do: it only says from when on. No offset: the computer's own clocks.
    start = datetime.combine(date(2026, 1, 1), job.own_clock).isoformat()
    return {
        "RegistrationInfo": {"Description": f"Watch last night's recordings of {job.title}"},
        "Triggers": {
            "CalendarTrigger": {
                "StartBoundary": start,
                "Enabled": "true",
                "ScheduleByDay": {"DaysInterval": "1"},
            }
        },
        "Principals": {"Principal": {**_user(job), "LogonType": "InteractiveToken"}},
        "Settings": {
            "MultipleInstancesPolicy": "IgnoreNew",
            "DisallowStartIfOnBatteries": "false",
            "StopIfGoingOnBatteries": "false",
            "StartWhenAvailable": "true",
            "WakeToRun": "true",
            "ExecutionTimeLimit": "PT20H",
            "Priority": "7",
        },
        "Actions": {
            "Exec": {
                "Command": job.arguments[0],
                "Arguments": subprocess.list2cmdline(job.arguments[1:]),
                "WorkingDirectory": str(job.folder),
            }
        },
    }


def _user(job: Job) -> dict[str, str]:
    return {} if job.user is None else {"UserId": job.user}


def _fill(parent: ET.Element, content: dict[str, Any]) -> None:
    for name, value in content.items():
        child = ET.SubElement(parent, name)
        if isinstance(value, dict):
            _fill(child, value)
        else:
            child.text = value
