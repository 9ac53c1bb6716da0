"""The first site file: what was found out, what is to be corrected, and remarks that say which is which."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import tomlkit

from nestwatch.site import file
from nestwatch.site.records import Units


@dataclass(frozen=True, slots=True)
class Setting:
    """What is asked of the keeper. Latitude and longitude in degrees, shell lengths in cm."""

    name: str = "My pens"
    timezone: str = "Europe/Paris"
    latitude: float = 47.2
    longitude: float = 1.6
    units: Units = "metric"
    animal: str = "European pond turtle"
    shell_length_cm: tuple[float, float] = (12, 20)


@dataclass(frozen=True, slots=True)
class FirstCamera:
    """A camera as it was found; `folder` is absolute, `remark` one line on what is not certain."""

    name: str
    folder: Path
    stamp: str | None
    clock: str
    picture: tuple[int, int]
    remark: str = ""


def first_site(path: Path, setting: Setting, cameras: Sequence[FirstCamera]) -> str:
    """The text of a site file at `path` without zones and marks. Raises `SiteError` for wrong values."""
    text = "\n".join([_head(setting), *(_camera(path, camera) for camera in cameras)])
    file.validate(path, text, file.parse(path, text))
    return text


def _head(setting: Setting) -> str:
    low, high = setting.shell_length_cm
    return f"""\
# nestwatch reads this file. Lines that begin with # are remarks; docs/site-file.md explains every key.
# Draw the zones and mark the posts with: nestwatch outline (this file)
format = "nestwatch-site/1"

[site]
name = {_quoted(setting.name)}
timezone = {_quoted(setting.timezone)}   # the clock on the wall there
latitude = {setting.latitude:g}   # correct these two: sunset and sunrise follow from them
longitude = {setting.longitude:g}
units = {_quoted(setting.units)}   # "metric" or "imperial": for what people read; this file stays metric
night = ["16:00", "09:00"]   # from when to when a night is watched

[animal]
name = {_quoted(setting.animal)}
shell_length_cm = [{low:g}, {high:g}]   # of your females, from the smallest to the largest
# What you know of them; take out the # and correct the numbers:
# clutch_size = [5, 17]
# incubation_c = [27, 30]
# incubation_days = [55, 75]
# nesting_season = ["05-15", "07-20"]
# nesting_hours = ["18:00", "03:00"]

# The pen, for places that a tape can find. Take out the #, put your own posts and lengths: metres, or text
# such as "3.46 m" or "11' 4 1/2\\"". Every corner and post whose place you know, and the distances between
# posts (docs/plan.md). Until then digs get a place in the picture only.
# [[pen]]
# name = "sand pen"
# outline = [[0, 0], [4.2, 0], [4.2, 3.0], [0, 3.0]]
# [[pen.post]]
# name = "post_sw"
# at = [0.0, 0.0]
# [[pen.post]]
# name = "post_se"
# [[pen.post]]
# name = "post_ne"
# [[pen.tape]]
# between = ["post_sw", "post_se"]
# length = "4.20 m"
"""


def _camera(path: Path, camera: FirstCamera) -> str:
    remark = f"# {camera.remark}\n" if camera.remark else ""
    stamp = (
        f"stamp = {_quoted(camera.stamp)}   # how its file names tell when they start\n"
        if camera.stamp
        else ""
    )
    return f"""\
[[camera]]
{remark}name = {_quoted(camera.name)}
footage = {_quoted(_relative(camera.folder, path))}
{stamp}clock = {_quoted(camera.clock)}   # "local" follows summer time; else "utc" or for example "+02:00"
picture = [{camera.picture[0]}, {camera.picture[1]}]
"""


def _quoted(text: str) -> str:
    return tomlkit.string(text).as_string()


def _relative(folder: Path, path: Path) -> str:
    """The folder as the file names it: relative with forward slashes, absolute only on another disk."""
    try:
        return Path(os.path.relpath(folder, Path(os.path.abspath(path)).parent)).as_posix()
    except ValueError:
        return folder.as_posix()
