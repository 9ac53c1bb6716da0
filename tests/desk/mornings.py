"""Nights for the desk without any rendering: night files written by hand, with small pictures and a clip."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from datetime import UTC, date, datetime
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import cv2
import numpy as np

NIGHT = date(2026, 6, 12)
MORNING = datetime(2026, 6, 13, 4, 10, tzinfo=UTC)
"""06:10 at the site."""
STAKES = {
    1: ((0.78, 0.735), (114.8, 146.6)),
    2: ((1.82, 0.735), (257.3, 150.9)),
    3: ((1.3, 1.365), (186.9, 84.3)),
    4: ((0.65, 1.575), (115.8, 64.8)),
}
"""Places on the plan and in the picture that belong together: posts and marks of the sample's site file."""
NEXT_MORNING = datetime(2026, 6, 14, 4, 10, tzinfo=UTC)


def a_dig(rank: int, start: str, end: str, **changes: Any) -> dict[str, Any]:
    """An entry of `digs` in the night of `night` (a date, default `NIGHT`); clock times of its evening."""
    night = changes.pop("night", NIGHT)
    name = f"pictures/sandbank_{start.replace(':', '')}00_{rank}"
    entry: dict[str, Any] = {
        "rank": rank,
        "camera": "sandbank",
        "cameras": ["sandbank"],
        "zone": "sand",
        "from": f"{night}T{start}:00+02:00",
        "to": f"{night}T{end}:00+02:00",
        "from_seen": True,
        "to_seen": True,
        "in_nesting_hours": True,
        "call": "nest",
        "likelihood": round(0.95 - 0.2 * (rank - 1), 2),
        "reasons": ["hind-end movement for 41 min", "the ground differs afterwards"],
        "stages": _stages(f"{night}T{start}:00+02:00", f"{night}T{end}:00+02:00"),
        "pixel": list(STAKES[rank][1]),
        "within_px": 9.0,
        "plan_m": list(STAKES[rank][0]),
        "within_m": 0.08,
        "tape": [_tape("post_se", (2.6, 0.0), rank), _tape("post_n", (1.3, 2.1), rank)],
        "shell_length_cm": 16.1,
        "pictures": {part: f"{name}_{part}.jpg" for part in ("before", "during", "after", "overview")},
        "clip": f"clips/sandbank_{rank}.mp4",
    }
    return {**entry, **changes}


def _tape(post: str, at: tuple[float, float], rank: int) -> dict[str, Any]:
    return {"post": post, "m": round(math.dist(at, STAKES[rank][0]), 3)}


def _stages(start: str, end: str) -> list[dict[str, str]]:
    first, last = datetime.fromisoformat(start), datetime.fromisoformat(end)
    cuts = [first + (last - first) * share for share in (0, 0.5, 0.8, 1)]
    names = ("dig", "lay", "cover")
    return [
        {
            "stage": name,
            "from": cuts[n].isoformat(timespec="seconds"),
            "to": cuts[n + 1].isoformat(timespec="seconds"),
        }
        for n, name in enumerate(names)
    ]


def three_digs(night: date = NIGHT) -> list[dict[str, Any]]:
    """Three digs, best first, and an animal that only rested."""
    return [
        a_dig(1, "21:20", "22:50", night=night),
        a_dig(2, "21:40", "22:20", night=night, call="unclear"),
        a_dig(3, "22:30", "23:10", night=night, call="trial"),
        a_dig(
            4, "21:05", "21:35", night=night, call="rest", likelihood=0.02, stages=[], reasons=["lay still"]
        ),
    ]


def footage_entry(night: date = NIGHT, **changes: Any) -> dict[str, Any]:
    """What the camera saw: fog for a while, and a gap of ten minutes."""

    def at(clock: str) -> str:
        return f"{night}T{clock}:00+02:00"

    entry = {
        "camera": "sandbank",
        "from": at("21:00"),
        "to": at("23:30"),
        "seconds_expected": 9000.0,
        "seconds_read": 8400.0,
        "nesting_seconds_expected": 9000.0,
        "nesting_seconds_read": 8400.0,
        "looked_min": 128.0,
        "zone_seen": {
            "minutes": 128.0,
            "of_minutes": 150.0,
            "share": 0.8533,
            "picture": "pictures/sandbank-seen.jpg",
        },
        "health": [
            {
                "what": "fogged",
                "from": at("22:10"),
                "to": at("22:22"),
                "words": "fog, or a misted lens: wipe the lens if it stays so",
            }
        ],
        "gaps": [{"from": at("23:00"), "to": at("23:10"), "why": "no recording"}],
        "unreadable": [{"file": "sandbank_x.mp4", "why": "broken off in the middle"}],
        "notes": [],
    }
    return {**entry, **changes}


def write_night(
    site_folder: Path, digs: Sequence[dict[str, Any]], night: date = NIGHT, **changes: Any
) -> Path:
    """A night's folder as `nestwatch night` leaves it; `changes` replace whole keys of the night file."""
    folder = site_folder / "nights" / night.isoformat()
    footage = changes.pop("footage", [footage_entry(night)])
    document = {
        "format": "nestwatch-night/1",
        "site": "Invented night: sample",
        "night": night.isoformat(),
        "version": "0.1.0",
        "timezone": "Europe/Paris",
        "from": f"{night}T21:00:00+02:00",
        "to": f"{night}T23:30:00+02:00",
        "nesting_hours": {"from": f"{night}T21:00:00+02:00", "to": f"{night}T23:30:00+02:00"},
        "sunset": None,
        "sunrise": None,
        "raids": [],
        "clocks": [],
        "not_seen": [{"camera": each["camera"], **gap} for each in footage for gap in each["gaps"]],
        "footage": footage,
        "digs": list(digs),
        "visitors": [],
        **changes,
    }
    named = [name for dig in digs for name in dig["pictures"].values() if name]
    named += [each["zone_seen"]["picture"] for each in footage if each["zone_seen"]]
    for name in named:
        _write_picture(folder / name)
    for dig in digs:
        if dig["clip"]:
            _write_clip(folder / dig["clip"])
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "night.json").write_text(json.dumps(document), encoding="utf-8")
    return folder


def _write_picture(path: Path) -> None:
    """A ground-like grey, wide for an overview and square for a cut-out."""
    path.parent.mkdir(parents=True, exist_ok=True)
    shape = (208, 352) if "overview" in path.name or "seen" in path.name else (240, 240)
    grain = np.random.default_rng(3).normal(0, 9, shape)
    image = np.clip(120 + 30 * np.sin(np.indices(shape)[1] / 40) + grain, 0, 255).astype(np.uint8)
    if "during" in path.name:
        cv2.ellipse(image, (shape[1] // 2, shape[0] // 2), (55, 40), 20, 0, 360, 70, -1)
    done, data = cv2.imencode(".jpg", image)
    assert done
    path.write_bytes(data.tobytes())


def _write_clip(path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with av.open(str(path), "w", format="mp4") as made:
        stream = made.add_stream("libx264", rate=Fraction(5))
        stream.width, stream.height, stream.pix_fmt = 64, 64, "yuv420p"
        for level in range(5):
            picture = av.VideoFrame.from_ndarray(np.full((64, 64), 40 * level, np.uint8), format="gray")
            made.mux(stream.encode(picture))
        made.mux(stream.encode())
