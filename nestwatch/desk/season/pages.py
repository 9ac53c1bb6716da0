"""The tally of a season as `nestwatch season` shows it, with the years beside each other."""

from __future__ import annotations

from flask import Blueprint, Response, make_response

from nestwatch.desk.guard import POLICY
from nestwatch.desk.morning.media import drawing
from nestwatch.desk.morning.room import Room
from nestwatch.desk.morning.showing import show
from nestwatch.errors import EntryError, RecordError
from nestwatch.season.open import Record
from nestwatch.season.tally import WEATHER
from nestwatch.season.tally.season import season_of, years_of
from nestwatch.season.tally.weather import WeatherLog, read_weather

_WITH_MAPS = POLICY.replace("img-src", "img-src data:")
"""A map of many nests is a picture inside the page."""


def season_pages(room: Room) -> Blueprint:
    """The pages below `/season/`."""
    pages = Blueprint("season", __name__, url_prefix="/season")

    @pages.get("/")
    def latest() -> Response:
        return _page(room, None)

    @pages.get("/<int:year>")
    def of_year(year: int) -> Response:
        return _page(room, year)

    @pages.get("/season.css")
    def style() -> Response:
        from nestwatch.season.tally.page.whole import season_style

        return Response(season_style(), mimetype="text/css")

    return pages


def _page(room: Room, year: int | None) -> Response:
    with room.opened() as record:
        news = room.news(record)
        years = years_of(record, room.site)
        shown = year if year is not None else years[-1] if years else None
        body, why = "", ""
        try:
            body, told = _body(room, record, shown)
            news += told
        except (RecordError, EntryError) as error:
            why = str(error)
        html = show(
            room, record, "season/season.html.j2", years=years, year=shown, body=body, why=why, news=news
        )
    answer = make_response(html, 404 if why and year is not None else 200)
    answer.headers["Content-Security-Policy"] = _WITH_MAPS
    return answer


def _body(room: Room, record: Record, year: int | None) -> tuple[str, list[str]]:
    """The page's content, and what is to be said of the weather file."""
    from nestwatch.season.fit.state import fit_state
    from nestwatch.season.tally.page.fitted import fitted
    from nestwatch.season.tally.page.whole import season_body

    weather, told = _weather(room, record)
    season = season_of(record, room.site, year, weather=weather)
    with drawing:
        return season_body(season, room.site, fit=fitted(fit_state(record), record.zone)), told


def _weather(room: Room, record: Record) -> tuple[WeatherLog | None, list[str]]:
    """The weather beside the site file; where that cannot be read without a choice, the tally has none."""
    path = room.site.path.parent / WEATHER
    if not path.is_file():
        return None, []
    try:
        return read_weather(path.read_bytes(), record.zone, record.clock()), []
    except (EntryError, OSError) as error:
        why = error.strerror if isinstance(error, OSError) else error
        return None, [f"The weather is left out. {WEATHER}: {why} It is read by nestwatch season SITE."]
