"""What every request of the desk works with: the site, the folder of its nights, and its record."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from zoneinfo import ZoneInfo

from nestwatch.errors import EntryError, RecordError
from nestwatch.season.changes import change_lines
from nestwatch.season.clock import Clock, utc_now
from nestwatch.season.digs import dig_by_id
from nestwatch.season.nights import catch_up, missing_folder, real_path
from nestwatch.season.open import Record, open_record
from nestwatch.season.records import Dig
from nestwatch.site.hours import last_night
from nestwatch.site.records import Site


@dataclass(frozen=True, slots=True)
class Room:
    """One desk. `nights`: the folder that scans write to; `clock` gives the time now (aware).

    A record may not cross threads, so each request opens it for itself; that also lets another desk, or a
    command, work beside this one.
    """

    site: Site
    nights: Path
    clock: Clock = utc_now

    @property
    def zone(self) -> ZoneInfo:
        """The site's time zone."""
        return ZoneInfo(self.site.timezone)

    def opened(self) -> Record:
        """The record, to be used as a context manager. Raises `RecordError`."""
        return open_record(self.site, clock=self.clock)

    def last_night(self) -> date:
        """The night that ended last."""
        return last_night(self.site, self.clock())

    def today(self) -> date:
        """The calendar day at the site."""
        return self.clock().astimezone(self.zone).date()

    def news(self, record: Record) -> list[str]:
        """Take in what was scanned since; lines on what is different, and on what could not be taken in."""
        try:
            caught = catch_up(record, self.site, self.nights)
        except RecordError as error:
            return [f"Nights scanned since cannot be taken into the record: {error}"]
        lines = [line for changes in caught.changes for line in change_lines(changes)]
        return [*record.notes, *lines, *(f"Not taken into the record: {each}" for each in caught.troubles)]

    def missing(self, record: Record, nights: set[date]) -> list[str]:
        """A line for every night whose folder is not there any more."""
        gone = [(night, missing_folder(record, self.site, night)) for night in sorted(nights)]
        return [
            f"The folder of the night of {night} is gone ({folder}): no pictures, but every entry is kept."
            for night, folder in gone
            if folder is not None
        ]

    def folder(self, record: Record, night: date) -> Path | None:
        """Where a scanned night's pictures lie; None where it was never scanned."""
        row = record.row("SELECT folder FROM night WHERE date = ?", (night.isoformat(),))
        return None if row is None or row["folder"] is None else real_path(row["folder"], self.site)

    def dig(self, record: Record, number: int) -> Dig:
        """A dig by its number in the record; raises `EntryError` (also for numbers beyond SQLite's)."""
        if number >= 2**63:
            raise EntryError(f"the record has no dig with the number {number}; look again.")
        return dig_by_id(record, number)
