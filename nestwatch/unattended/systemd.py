"""The nightly job for systemd: a service and its timer, of the user's own. Pure.

Quoting and specifiers after systemd.syntax(7), systemd.service(5) and systemd.unit(5).
"""

from __future__ import annotations

from collections.abc import Sequence

from nestwatch.unattended.job import Job, Unit

FOLDER = "~/.config/systemd/user"
_SECRETS = "nestwatch.env"


def units(job: Job) -> tuple[Unit, ...]:
    """The service and the timer."""
    return Unit(f"{job.name}.service", _service(job)), Unit(f"{job.name}.timer", _timer(job))


def steps(job: Job) -> tuple[str, ...]:
    """What to do with them."""
    return (
        f"Put both files into {FOLDER} (make the folder where there is none).",
        "Then: systemctl --user daemon-reload",
        f"Then: systemctl --user enable --now {job.name}.timer",
        "So that it runs when nobody is logged in: loginctl enable-linger",
        f"Try it at once: systemctl --user start {job.name}.service",
        f"What it says: journalctl --user -u {job.name}",
        "A night missed while the computer was off is made up for at the next start (the last one only). A "
        "sleeping computer is not woken: keep it from sleeping at that time.",
        *_secret_steps(job),
    )


def _secret_steps(job: Job) -> tuple[str, ...]:
    if not job.notify:
        return ()
    return (
        f"For the mail password: write the line NESTWATCH_MAIL_PASSWORD=... into ~/.config/{_SECRETS}, then "
        f"chmod 600 ~/.config/{_SECRETS}",
    )


def _service(job: Job) -> bytes:
    lines = [
        "[Unit]",
        f"Description=Watch last night's recordings of {_plain(job.title)}",
        "",
        "[Service]",
        "Type=oneshot",
        f"WorkingDirectory={_plain(str(job.folder))}",
        f"ExecStart={' '.join(map(_quoted, _command(job.arguments)))}",
        "# 3: done, but some footage could not be read",
        "SuccessExitStatus=3",
        "Nice=10",
    ]
    if job.notify:
        lines.append(f"EnvironmentFile=-%h/.config/{_SECRETS}")
    return _text(lines)


def _timer(job: Job) -> bytes:
    lines = [
        "[Unit]",
        f"Description=Every morning: last night's recordings of {_plain(job.title)}",
        "",
        "[Timer]",
        f"OnCalendar=*-*-* {job.at:%H:%M}:00 {job.zone}",
        "# a night missed while the computer was off is made up for at the next start",
        "Persistent=true",
        "AccuracySec=1min",
        "",
        "[Install]",
        "WantedBy=timers.target",
    ]
    return _text(lines)


def _command(arguments: Sequence[str]) -> list[str]:
    # `$` would begin a variable, but not in the program's own path, where it stands for itself.
    return [arguments[0], *(part.replace("$", "$$") for part in arguments[1:])]


def _plain(value: str) -> str:
    """A value taken to the end of its line; `%` would begin a specifier."""
    return value.replace("%", "%%")


def _quoted(value: str) -> str:
    escaped = _plain(value).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def _text(lines: list[str]) -> bytes:
    return ("\n".join(lines) + "\n").encode()
