"""Instants as the record writes them: ISO 8601, UTC, whole seconds and a Z, so that text sorts by time."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import overload


def written(instant: datetime) -> str:
    """An aware instant as text."""
    return instant.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


@overload
def read(text: str) -> datetime: ...
@overload
def read(text: None) -> None: ...
@overload
def read(text: str | None) -> datetime | None: ...
def read(text: str | None) -> datetime | None:
    """An instant from text (any ISO 8601 with an offset), aware, UTC; None stays None."""
    return None if text is None else datetime.fromisoformat(text).astimezone(UTC)
