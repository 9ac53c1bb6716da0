"""A weather file beside the demo's site file, hourly, in the form a keeper's weather station may give."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from pathlib import Path

import numpy as np

from nestwatch.writing import staged


def write_weather(path: Path, nights: Sequence[date]) -> None:
    """Write hours from noon to noon of every night: local time, degrees Celsius, millimetres of rain."""
    with staged(path) as fresh:
        fresh.write_text(
            "\r\n".join(["time,temperature (C),rain (mm)", *_rows(nights), ""]), encoding="utf-8"
        )


def _rows(nights: Sequence[date]) -> Iterator[str]:
    rng = np.random.default_rng(11)
    for night in nights:
        warm, wet = float(rng.normal(17.5, 3.0)), rng.random() < 0.25
        for hour in range(24):
            at = datetime.combine(night, time(12)) + timedelta(hours=hour)
            celsius = warm + 4.5 * np.cos(2 * np.pi * (hour - 3) / 24) + rng.normal(0, 0.3)
            rain = round(float(rng.exponential(0.8)), 1) if wet and 6 <= hour < 14 else 0.0
            yield f"{at:%Y-%m-%d %H:%M},{celsius:.1f},{rain:.1f}"
