"""A site file around one real clip, as a keeper would write it, and the nightly job run on it."""

from __future__ import annotations

import shutil
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any

import shapely

from nestwatch.night import run_night
from nestwatch.site.file import load_site

NIGHT = date(2026, 6, 12)
Outline = Sequence[Sequence[float]]

_SITE = """\
format = "nestwatch-site/1"
[site]
name = "Linden Fen"
timezone = "Europe/Paris"
latitude = 47.2
longitude = 1.6
units = "metric"
night = ["{start}", "{end}"]
[animal]
name = "European pond turtle"
shell_length_cm = [14, 18]
{pen}
[[camera]]
name = "yard"
footage = "recordings"
stamp = "yard_%Y%m%dT%H%M%S"
clock = "local"
picture = {picture}
"""


def watch_clip(
    folder: Path,
    clip: Path | None,
    picture: tuple[int, int],
    *,
    begins: str = "120000",
    night: tuple[str, str] = ("12:00", "12:02"),
    zones: Mapping[str, tuple[str, Outline]] | None = None,
    posts: Mapping[str, tuple[tuple[float, float], tuple[float, float]]] | None = None,
) -> dict[str, Any]:
    """The night file of a clip that `begins` at a local hhmmss.

    `clip` None: what already lies in `folder/recordings`. `zones`: name -> (kind, outline); without any the
    whole picture is a nesting zone. `posts`: name -> (plan metres, picture pixel).
    """
    recordings = folder / "recordings"
    recordings.mkdir(parents=True, exist_ok=True)
    if clip is not None:
        shutil.copy(clip, recordings / f"yard_20260612T{begins}{clip.suffix}")
    right, low = picture[0] - 1, picture[1] - 1
    everywhere = {"all": ("nesting", [[1, 1], [right, 1], [right, low], [1, low]])}
    site = folder / "site.toml"
    text = _SITE.format(start=night[0], end=night[1], picture=list(picture), pen=_pen(posts or {}))
    text += "".join(_zone(name, *zone) for name, zone in (zones or everywhere).items())
    text += "".join(
        f'[[camera.mark]]\npost = "{name}"\npixel = {list(pixel)}\n'
        for name, (_, pixel) in (posts or {}).items()
    )
    site.write_text(text, encoding="utf-8")
    return run_night(load_site(site), NIGHT, folder / "nights").document


def _zone(name: str, kind: str, outline: Outline) -> str:
    return f'[[camera.zone]]\nname = "{name}"\nkind = "{kind}"\noutline = {[list(p) for p in outline]}\n'


def _pen(posts: Mapping[str, tuple[tuple[float, float], tuple[float, float]]]) -> str:
    if not posts:
        return ""
    around = shapely.MultiPoint([at for at, _ in posts.values()]).convex_hull
    corners = [list(at) for at in shapely.get_coordinates(around)[:-1].tolist()]
    lines = ["[[pen]]", 'name = "yard"', f"outline = {corners}"]
    for name, (at, _) in posts.items():
        lines += ["[[pen.post]]", f'name = "{name}"', f"at = {list(at)}"]
    return "\n".join(lines)


def seconds(instant: str) -> float:
    """Seconds after noon of a time in a night file."""
    at = datetime.fromisoformat(instant)
    return (at - at.replace(hour=12, minute=0, second=0)).total_seconds()
