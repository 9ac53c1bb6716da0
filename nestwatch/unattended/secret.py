"""The password of the mail server: from the environment, else from the system's own store of passwords.

It is never in the site file, nor on a command line, where others could read it.
"""

from __future__ import annotations

import importlib
import os
from typing import Any

from nestwatch.errors import NotifyError

VARIABLE = "NESTWATCH_MAIL_PASSWORD"
SERVICE = "nestwatch"


def mail_password(user: str) -> str:
    """The password of `user` at the mail server. Raises `NotifyError` that says where to put it."""
    found = os.environ.get(VARIABLE) or _from_keyring(user)
    if not found:
        raise NotifyError(
            f"there is no password for {user}: put it into the environment as {VARIABLE}, or into the "
            f"system's store with: keyring set {SERVICE} {user} (docs/schedule.md)."
        )
    return found


def _from_keyring(user: str) -> str | None:
    """What the optional package keyring has; None without the package or without an entry."""
    try:
        keyring: Any = importlib.import_module("keyring")
    except ImportError:
        return None
    try:
        found: str | None = keyring.get_password(SERVICE, user)
    except keyring.errors.KeyringError as error:
        raise NotifyError(
            f"the system's store of passwords does not answer ({error}); unlock it, or put the password into "
            f"the environment as {VARIABLE}."
        ) from error
    return found
