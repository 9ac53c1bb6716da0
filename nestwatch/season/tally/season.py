"""One year tallied, read top to bottom."""

from __future__ import annotations

from datetime import date
from functools import partial
from typing import TYPE_CHECKING

from nestwatch.errors import RecordError
from nestwatch.season.females import females
from nestwatch.season.incubation.profile import profile_called
from nestwatch.season.open import Record
from nestwatch.season.tally.females import Calendar, females_of
from nestwatch.season.tally.gather import Around, Laid, attempts_of, laid, nests_on_map
from nestwatch.season.tally.groups import groups_of, total_of
from nestwatch.season.tally.nights import nights_of
from nestwatch.season.tally.notes import notes_of
from nestwatch.season.tally.performance import performance_of
from nestwatch.season.tally.records import FemaleSeason, Season, Weather
from nestwatch.season.tally.seen import SeenNight, counted_season, seen_nights
from nestwatch.season.tally.weather import WeatherLog
from nestwatch.season.years import nesting_season, year_of, year_span
from nestwatch.site.hours import night_hours

if TYPE_CHECKING:
    from nestwatch.site.records import Site


def season_of(
    record: Record, site: Site, year: int | None = None, *, weather: WeatherLog | None = None
) -> Season:
    """The tally of a year, None for that of the record's latest night. `weather`: where the keeper has it.

    Raises `RecordError` where the record has nothing of that year, `EntryError` for a species profile that is
    wrong.
    """
    year = _chosen(record, site, year)
    span = year_span(site, year)
    counted = counted_season(record, site, year)
    seen = seen_nights(record, site, year, counted)
    of_nights = _Nights(site, seen, weather)
    known = laid(record)
    attempts = attempts_of(record, site, span, known, Around(of_nights.weather, of_nights.was_seen))
    nights = nights_of(seen, counted, [camera.name for camera in site.cameras])
    total = total_of(attempts, seen)
    told = {night.date: of_nights.weather(night.date) for night in seen}
    return Season(
        site=site.name,
        year=year,
        nights=nights,
        attempts=attempts,
        total=total,
        groups=groups_of(site, attempts, seen, told),
        females=_females(record, site, year, known),
        nests=nests_on_map(record, site, span, known),
        earlier=nests_on_map(record, site, (date.min, year_span(site, year - 1)[1]), known),
        performance=performance_of(attempts, sum(night.scanned for night in seen)),
        notes=notes_of(site, attempts, total, nights, seen, told, weather),
    )


def years_of(record: Record, site: Site) -> tuple[int, ...]:
    """The years of which the record holds a night, the earliest first."""
    rows = record.rows("SELECT date FROM night")
    return tuple(sorted({year_of(site, date.fromisoformat(row["date"])) for row in rows}))


def _chosen(record: Record, site: Site, year: int | None) -> int:
    years = years_of(record, site)
    if not years:
        raise RecordError(
            f"{record.path} holds no night yet, so there is no season to tally; run nestwatch night first."
        )
    if year is not None and year not in years:
        raise RecordError(
            f"{record.path} holds no night of {year}; it has {', '.join(map(str, years))}: choose one with "
            "--year."
        )
    return years[-1] if year is None else year


class _Nights:
    """What is known of nights; the weather of each is worked out once."""

    def __init__(self, site: Site, seen: tuple[SeenNight, ...], log: WeatherLog | None) -> None:
        self._site, self._log = site, log
        self._seen = {night.date: night for night in seen}
        self._found: dict[date, Weather | None] = {}

    def was_seen(self, night: date, pen: str | None) -> bool:
        """Whether a camera saw a pen (any, where None) for an hour of the night's nesting time."""
        known = self._seen.get(night)
        return known is not None and known.is_seen_at(pen)

    def weather(self, night: date) -> Weather | None:
        """None without a file, and where it misses too much of that night."""
        if self._log is None:
            return None
        if night not in self._found:
            known = self._seen.get(night)
            nesting = night_hours(self._site, night).nesting if known is None else known.nesting
            self._found[night] = self._log.between(*nesting)
        return self._found[night]


def _females(record: Record, site: Site, year: int, known: Laid) -> tuple[FemaleSeason, ...]:
    calendar = Calendar(
        year,
        nesting_season(site, year),
        record.clock().astimezone(record.zone).date(),
        partial(year_of, site),
        profile_called(site, None).second_clutch,
    )
    return females_of([each.name for each in females(record)], known.clutches, calendar)
