"""A site file that is in order, for tests to spoil, and records built without a file."""

from __future__ import annotations

from dataclasses import replace
from datetime import time
from pathlib import Path

import pytest

from nestwatch.errors import SiteError
from nestwatch.site.file import load_site
from nestwatch.site.records import Site

GOOD = """\
format = "nestwatch-site/1"
[site]
name = "Linden Fen"
timezone = "Europe/Paris"
latitude = 47.2
longitude = 1.6
units = "metric"
night = ["16:00", "09:00"]
[animal]
name = "European pond turtle"
shell_length_cm = [12, 20]
clutch_size = [5, 17]
incubation_c = [27, 30]
incubation_days = [55, 75]
nesting_season = ["05-15", "07-20"]
nesting_hours = ["18:00", "03:00"]
[[pen]]
name = "sand pen"
outline = [[0, 0], [4.2, 0], [4.2, 3.0], [0, 3.0]]
[[pen.post]]
name = "post_sw"
at = [0.0, 0.0]
[[pen.post]]
name = "post_se"
at = [4.2, 0.0]
[[pen.post]]
name = "post_ne"
at = [4.2, 3.0]
[[pen.post]]
name = "post_nw"
at = [0.0, 3.0]
[[camera]]
name = "sandbank"
pen = "sand pen"
footage = "footage/sandbank"
stamp = "sandbank_%Y%m%dT%H%M%S"
clock = "local"
clock_error_s = 0
picture = [960, 540]
[[camera.zone]]
name = "sand bank"
kind = "nesting"
outline = [[120, 60], [700, 55], [900, 500], [40, 500]]
[[camera.zone]]
name = "pool"
kind = "water"
outline = [[10, 10], [100, 10], [100, 50], [10, 50]]
[[camera.mark]]
post = "post_sw"
pixel = [14.0, 402.5]
[[camera.mark]]
post = "post_se"
pixel = [940.0, 410.0]
[[camera.mark]]
post = "post_ne"
pixel = [720.0, 40.0]
[[camera.mark]]
post = "post_nw"
pixel = [230.0, 42.0]
"""


def written(folder: Path, text: str = GOOD) -> Path:
    """The site file's path in `folder`."""
    path = folder / "site.toml"
    path.write_text(text, encoding="utf-8")
    return path


def spoiled(*changes: tuple[str, str]) -> str:
    """The good file with each of the texts (which must occur once) replaced."""
    text = GOOD
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} occurs {text.count(old)} times"
        text = text.replace(old, new)
    return text


def said(path: Path) -> str:
    """The line of the error that reading the file ends in, without the path of the file."""
    with pytest.raises(SiteError) as raised:
        load_site(path)
    assert raised.value.exit_code == 2
    return str(raised.value).removeprefix(str(path))


def site(
    folder: Path,
    *,
    night: tuple[time, time] = (time(16), time(9)),
    nesting: tuple[time, time] | None = (time(18), time(3)),
    timezone: str = "Europe/Paris",
) -> Site:
    """A site with other hours."""
    good = load_site(written(folder))
    return replace(good, night=night, timezone=timezone, animal=replace(good.animal, nesting_hours=nesting))
