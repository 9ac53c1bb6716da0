"""An invented night's folder with a night file, pictures and a site seen by a camera placed by hand."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from datetime import time
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from nestwatch.site.records import Animal, Camera, Mark, Pen, Post, Site, Units, Zone
from tests.site.cameras import PICTURE, seen

PLACE = (2.70, 0.72)
SPOTS = np.array(
    [[0.4, 1.2], [3.8, 1.2], [4.2, 3.0], [0.0, 3.0], [2.1, 0.6], [1.0, 2.0], [3.0, 1.4], [2.0, 2.9]]
)
"""Places of the posts, all within the camera's picture; the pen's southern corners have none."""
NAMES = ("stake_w", "stake_e", "post_ne", "post_nw", "stake_s", "stake_1", "stake_2", "stake_n")
POSTS = tuple(Post(name, (float(x), float(y))) for name, (x, y) in zip(NAMES, SPOTS, strict=True))
PEN = Pen("sand pen", ((0.0, 0.0), (4.2, 0.0), (4.2, 3.0), (0.0, 3.0)), POSTS)


def a_site(*, units: Units = "metric", marks: int = 8, pen: Pen = PEN) -> Site:
    pixels = seen(SPOTS[:marks])
    camera = Camera(
        "sandbank",
        "sand pen",
        Path("footage"),
        None,
        "local",
        0.0,
        PICTURE,
        (Zone("sand bank", "nesting", ((150.0, 120.0), (800.0, 120.0), (900.0, 520.0), (60.0, 520.0))),),
        tuple(Mark(name, (float(x), float(y))) for name, (x, y) in zip(NAMES[:marks], pixels, strict=True)),
    )
    animal = Animal("European pond turtle", (12, 20), (5, 17), None, None, None, (time(18), time(3)))
    nights = (time(16), time(9))
    return Site(
        Path("site.toml"), "Linden Fen", "Europe/Paris", 47.2, 1.6, units, nights, animal, (pen,), (camera,)
    )


def pixel_of(place: tuple[float, float]) -> list[float]:
    return [float(value) for value in seen(np.array([place]))[0]]


def a_dig(rank: int = 1, call: str = "nest", place: tuple[float, float] | None = PLACE) -> dict[str, Any]:
    """An entry of the night file; `place` None as without marks."""
    tape = [] if place is None else list(POSTS[:2])
    return {
        "rank": rank,
        "camera": "sandbank",
        "cameras": ["sandbank"],
        "zone": "sand bank",
        "from": "2026-06-12T21:14:00+02:00",
        "to": "2026-06-12T23:18:00+02:00",
        "call": call,
        "likelihood": 0.93,
        "stages": [
            {"stage": "dig", "from": "2026-06-12T21:20:00+02:00", "to": "2026-06-12T22:30:00+02:00"},
            {"stage": "lay", "from": "2026-06-12T22:30:00+02:00", "to": "2026-06-12T22:52:00+02:00"},
        ],
        "pixel": pixel_of(place or PLACE),
        "plan_m": None if place is None else list(place),
        "within_m": None if place is None else 0.058,
        "tape": [
            {"post": post.name, "m": round(float(np.hypot(*(np.array(post.at) - place))), 3)} for post in tape
        ],
        "pictures": {
            name: f"pictures/{rank}_{name}.jpg" for name in ("before", "during", "after", "overview")
        },
    }


def a_night(folder: Path, digs: list[dict[str, Any]]) -> Path:
    """Write the night file and the digs' pictures; returns the night's folder."""
    night = folder / "nights" / "2026-06-12"
    (night / "pictures").mkdir(parents=True)
    for dig in digs:
        for name, path in dig["pictures"].items():
            if path is not None:
                (night / path).write_bytes(jpeg((480, 480) if name != "overview" else (960, 540)))
    document = {
        "format": "nestwatch-night/1",
        "site": "Linden Fen",
        "night": "2026-06-12",
        "version": "0.1.0",
        "from": "2026-06-12T16:00:00+02:00",
        "to": "2026-06-13T09:00:00+02:00",
        "nesting_hours": {"from": "2026-06-12T18:00:00+02:00", "to": "2026-06-13T03:00:00+02:00"},
        "not_seen": [],
        "footage": [
            {"camera": "sandbank", "nesting_seconds_read": 32400.0, "looked_min": None, "unreadable": []}
        ],
        "digs": digs,
    }
    (night / "night.json").write_text(json.dumps(document), encoding="utf-8")
    return night


def jpeg(size: tuple[int, int]) -> bytes:
    shades = np.random.default_rng(1).integers(60, 160, (size[1], size[0]), dtype=np.uint8)
    out = io.BytesIO()
    Image.fromarray(shades).save(out, "JPEG")
    return out.getvalue()


def with_posts(site: Site, posts: tuple[Post, ...]) -> Site:
    return replace(site, pens=(replace(site.pens[0], posts=posts),))
