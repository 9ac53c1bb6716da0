"""Handing a message to a program of the keeper's choice."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Sequence
from pathlib import Path

from nestwatch.errors import NotifyError
from nestwatch.unattended.message import Message
from nestwatch.unattended.secret import VARIABLE

PATIENCE_S = 60.0
"""So long the program may take."""


def run_program(command: Sequence[str], message: Message, folder: Path) -> None:
    """Run a program with the message on its stdin (UTF-8: the subject, an empty line, the text).

    No shell is involved. It runs in `folder` and is not given the mail password. Raises `NotifyError` where
    it cannot be run, takes too long or ends with anything but 0.
    """
    environment = {name: value for name, value in os.environ.items() if name != VARIABLE}
    try:
        done = subprocess.run(
            list(command),
            input=f"{message.subject}\n\n{message.text}".encode(),
            capture_output=True,
            timeout=PATIENCE_S,
            cwd=folder,
            env=environment,
            check=False,
        )
    except subprocess.TimeoutExpired as error:
        raise NotifyError(f'"{command[0]}" took longer than {PATIENCE_S:.0f} s and was ended.') from error
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise NotifyError(f'"{command[0]}" cannot be run ({why}); check command in [notify].') from error
    if done.returncode:
        raise NotifyError(f'"{command[0]}" ended with {done.returncode}{_last_line(done.stderr)}.')


def _last_line(said: bytes) -> str:
    lines = said.decode(errors="replace").split("\n")
    last = next((line.strip() for line in reversed(lines) if line.strip()), "")
    return f" ({last})" if last else ""
