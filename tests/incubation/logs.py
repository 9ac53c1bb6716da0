"""Invented logger files, and reading them at a fixed time."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from nestwatch.season.incubation.logger.read import read_log
from nestwatch.season.incubation.logger.records import Choices, Log

ZONE = ZoneInfo("Europe/Paris")
NOW = datetime(2026, 11, 20, 12, 0, tzinfo=UTC)


def log(text: str, encoding: str = "utf-8", **choices: str) -> Log:
    return read_log(text.encode(encoding), ZONE, NOW, Choices(**choices))  # type: ignore[arg-type]


def instants(read: Log) -> list[str]:
    """UTC, to the minute."""
    return [datetime.fromtimestamp(float(s), UTC).strftime("%m-%d %H:%M") for s in read.series.seconds]
