"""Telling about a night by every way that the site file names."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from nestwatch.errors import NotifyError, SiteError
from nestwatch.site.records import Notify, Site
from nestwatch.unattended.mail import send_mail
from nestwatch.unattended.message import Message
from nestwatch.unattended.program import run_program


def require_notify(site: Site) -> Notify:
    """Whom the site file tells. Raises `SiteError` where it names nobody."""
    if site.notify is None:
        raise SiteError(
            f"{site.path}: has no table [notify], so nobody can be told; add one (docs/site-file.md shows "
            "it) or leave out --notify."
        )
    return site.notify


def tell(notify: Notify, message: Message, folder: Path) -> None:
    """Send a message by all ways; a way that fails does not keep the others from being tried.

    `folder` is where a program is run. Raises one `NotifyError` for all that failed.
    """
    ways: list[Callable[[], None]] = []
    if notify.mail is not None:
        ways.append(partial(send_mail, notify.mail, message))
    if notify.command is not None:
        ways.append(partial(run_program, notify.command, message, folder))
    failed = [why for way in ways if (why := _failure(way)) is not None]
    if failed:
        raise NotifyError(f"nobody may have been told: {' Also: '.join(failed)}")


def _failure(way: Callable[[], None]) -> str | None:
    try:
        way()
    except NotifyError as error:
        return str(error)
    return None
