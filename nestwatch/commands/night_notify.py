"""What `nestwatch night --notify` tells, and how trouble with telling is said."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from nestwatch.errors import NestwatchError, NotifyError

if TYPE_CHECKING:
    from nestwatch.site.records import Site
    from nestwatch.unattended.message import Message


@contextmanager
def failure_told(site: Site, night: date) -> Iterator[None]:
    """A night that fails inside the block is told too: silence would look like a night without a dig.

    The error passes. Raises `SiteError` before the block where the site file names nobody to tell.
    """
    from nestwatch.unattended.tell import require_notify

    require_notify(site)
    try:
        yield
    except Exception as error:
        from nestwatch.unattended.message import failed_message

        ours = isinstance(error, NestwatchError)
        why = str(error) if ours else f"a fault of the program, or of the disk ({type(error).__name__})."
        _send(site, failed_message(site, night, why), "The night could not be watched, and")
        raise


def tell_result(site: Site, document: Mapping[str, Any]) -> bool:
    """Tell about a finished night, from its night file's content; False (said on stderr) if that fails."""
    from nestwatch.unattended.message import night_message
    from nestwatch.unattended.tell import require_notify

    message = night_message(site, document, places=require_notify(site).places)
    return _send(site, message, "The night is done and kept, but")


def _send(site: Site, message: Message, what: str) -> bool:
    from nestwatch.unattended.tell import require_notify, tell

    try:
        tell(require_notify(site), message, site.path.resolve().parent)
    except NotifyError as error:
        click.echo(f"{what} {error}", err=True)
        return False
    return True
