"""What time it is for a record: now, or in the folder of a demo the morning on which its season stands."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from nestwatch.site.records import Site

MARKER = ".nestwatch-demo.json"
"""The file in the folder of a demo; its key `morning` is an ISO 8601 instant with its offset."""

Clock = Callable[[], datetime]


def utc_now() -> datetime:
    """The time now, aware, UTC."""
    return datetime.now(UTC)


def clock_of(site: Site, otherwise: Clock = utc_now) -> Clock:
    """The clock for a site's record. An invented season would be months old on any other day than its own."""
    morning = _morning(site)
    return otherwise if morning is None else lambda: morning


def _morning(site: Site) -> datetime | None:
    try:
        told = json.loads((site.path.parent / MARKER).read_text(encoding="utf-8"))
        morning = datetime.fromisoformat(told["morning"])
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return morning.astimezone(UTC) if morning.tzinfo else None
