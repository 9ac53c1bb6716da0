"""The invented season made in a demo's folder, top to bottom."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path

from nestwatch.demo.enter import enter_season
from nestwatch.demo.nights import write_nights
from nestwatch.demo.story import tell
from nestwatch.demo.weather import write_weather
from nestwatch.season.backups import FOLDER
from nestwatch.season.open import NAME
from nestwatch.season.tally import WEATHER
from nestwatch.site import load_site, night_hours

MADE = (NAME, f"{NAME}-journal", FOLDER, WEATHER)
"""What `make_season` leaves in the folder beside its nights."""
_WAKE = timedelta(minutes=30)
"""After the end of the night the demo's clock stands still."""


def make_season(site_file: Path, night: date, seed: int) -> datetime:
    """Invent the year before `night` and its own up to it, in the folder of `site_file`.

    The folder has no record yet. Returns the morning (aware) on which the season stands.
    """
    site, folder = load_site(site_file), site_file.parent
    morning = night_hours(site, night).end + _WAKE
    story = tell((night.year - 1, night.year), night, seed)
    write_nights(site, story, folder / "nights")
    write_weather(folder / WEATHER, story.nights)
    enter_season(site, story, folder / "nights", morning)
    return morning
