"""Nights in the record: taking in what a scan found, and reading nights back.

A night scanned again keeps every find: digs are matched by time and place (`matching`), what is matched keeps
its row and so its find, and what is not found again stays under a letter.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nestwatch.errors import NestwatchError, RecordError
from nestwatch.season.changes import Kept, ScanChanges
from nestwatch.season.digs import label_of, next_letter
from nestwatch.season.matching import Matched, match_digs
from nestwatch.season.open import Record, Writer
from nestwatch.season.scan import Values, dig_values, footage_values, night_values, seen_of

if TYPE_CHECKING:
    from nestwatch.site.records import Site

NIGHT_FILE = "night.json"


@dataclass(frozen=True, slots=True)
class CaughtUp:
    """What `catch_up` took in, and one line for every night file that could not be."""

    changes: tuple[ScanChanges, ...]
    troubles: tuple[str, ...]


def catch_up(record: Record, site: Site, nights: Path) -> CaughtUp:
    """Take in every night of the folder `nights` that is newer than what the record has of it.

    Only files that changed are read; a backup is made where there were any. Raises `RecordError`.
    """
    known = {row["date"]: row["stamp"] for row in record.rows("SELECT date, stamp FROM night")}
    changes, troubles = [], []
    for file in sorted(nights.glob(f"????-??-??/{NIGHT_FILE}")):
        if known.get(file.parent.name) == _stamp(file):
            continue
        try:
            changes.append(take_in(record, site, _document(file.parent), file.parent))
        except RecordError:
            raise
        except NestwatchError as error:
            troubles.append(str(error))
    if changes:
        record.back_up("night")
    return CaughtUp(tuple(changes), tuple(troubles))


def _document(folder: Path) -> dict[str, Any]:
    from nestwatch.report.marking import read_night

    return read_night(folder)


def take_in(record: Record, site: Site, document: Mapping[str, Any], folder: Path) -> ScanChanges:
    """Enter a scanned night, the content of the night file in `folder`; all or nothing.

    Returns what is different from the scan before. Raises `RecordError`.
    """
    with record.writing(f"scan of {document['night']}", by="scan") as writer:
        taking = _Taking(record, writer, site, document, folder)
        changes = taking.take()
        writer.words = f"scan of {document['night']}: {changes.summary()}"
    return changes


class _Taking:
    """One night file going in, inside one action."""

    def __init__(
        self, record: Record, writer: Writer, site: Site, document: Mapping[str, Any], folder: Path
    ) -> None:
        self._record, self._writer, self._site = record, writer, site
        self._document, self._folder = document, folder

    def take(self) -> ScanChanges:
        night, first = self._night()
        self._footage(night)
        former = self._record.rows(
            "SELECT dig.*, find.found FROM dig LEFT JOIN find ON find.dig = dig.id WHERE night = ? "
            "ORDER BY dig.id",
            (night,),
        )
        latest = [dig_values(dig, self._pen(dig["camera"])) for dig in self._document["digs"]]
        matched = match_digs([seen_of(dict(row)) for row in former], [seen_of(each) for each in latest])
        gone = list(self._leave(night, former, matched))
        as_before, renumbered = self._keep(former, latest, matched)
        new = self._add(night, latest, matched)
        return ScanChanges(
            date.fromisoformat(self._document["night"]), first, as_before, renumbered, new, tuple(gone)
        )

    def _night(self) -> tuple[int, bool]:
        """The night's row, and whether this is its first scan."""
        values = night_values(
            self._document,
            kept_path(self._folder, self._site),
            _stamp(self._folder / NIGHT_FILE),
            self._record.clock(),
        )
        row = self._record.row("SELECT * FROM night WHERE date = ?", (values["date"],))
        if row is None:
            return self._writer.add("night", values), True
        self._renew("night", row, values)
        return int(row["id"]), row["scanned_at"] is None

    def _footage(self, night: int) -> None:
        rows = self._record.rows("SELECT * FROM footage WHERE night = ?", (night,))
        known = {row["camera"]: row for row in rows}
        for entry in self._document["footage"]:
            row, values = known.pop(entry["camera"], None), footage_values(entry, self._document)
            if row is None:
                self._writer.add("footage", {"night": night, **values})
            else:
                self._renew("footage", row, values)
        for row in known.values():
            self._writer.remove("footage", row["id"])

    def _leave(self, night: int, former: Sequence[sqlite3.Row], matched: Matched) -> Iterator[Kept]:
        """Former digs that are not in the new scan get a letter; yields those that were listed."""
        for number, row in enumerate(former):
            if matched.latest_of(number) is not None or not row["listed"]:
                continue
            letter = row["letter"] or next_letter(self._record, night)
            self._writer.change(
                "dig", row["id"], {"listed": 0, "letter": letter, "rank": None, "rank_before": row["rank"]}
            )
            yield Kept(row["rank"], letter, row["call"], row["found"], number in matched.unsure)

    def _keep(
        self, former: Sequence[sqlite3.Row], latest: Sequence[Values], matched: Matched
    ) -> tuple[int, tuple[tuple[str, str], ...]]:
        """Renew the matched digs; how many, and which have another label now."""
        renumbered = []
        for old, new in matched.pairs:
            row, values = former[old], latest[new]
            rank = row["rank"] if row["listed"] else None
            self._renew("dig", row, {**values, "rank_before": rank})
            if label_of(row) != str(values["rank"]):
                renumbered.append((label_of(row), str(values["rank"])))
        return len(matched.pairs), tuple(renumbered)

    def _add(self, night: int, latest: Sequence[Values], matched: Matched) -> tuple[str, ...]:
        known = {new for _, new in matched.pairs}
        fresh = [values for number, values in enumerate(latest) if number not in known]
        for values in fresh:
            self._writer.add("dig", {"night": night, "source": "scan", **values})
        return tuple(str(values["rank"]) for values in fresh)

    def _renew(self, table: str, row: sqlite3.Row, values: Values) -> None:
        """Write only what is different, so that the journal holds changes and nothing else."""
        different = {name: value for name, value in values.items() if row[name] != value}
        if different:
            self._writer.change(table, row["id"], different)

    def _pen(self, camera: str) -> str | None:
        found = next((each for each in self._site.cameras if each.name == camera), None)
        pen = None if found is None else self._site.pen_of(found)
        return None if pen is None else pen.name


def kept_path(path: Path, site: Site) -> str:
    """A path as the record keeps it: relative to the site's folder where it lies in it, with `/`."""
    base = site.path.parent.resolve()
    whole = path.resolve()
    return whole.relative_to(base).as_posix() if whole.is_relative_to(base) else whole.as_posix()


def real_path(kept: str, site: Site) -> Path:
    """The path that the record keeps as `kept`."""
    return site.path.parent / kept


def missing_folder(record: Record, site: Site, night: date) -> Path | None:
    """The folder of a scanned night where it is not there any more (deleted, or its disk is away)."""
    row = record.row("SELECT folder FROM night WHERE date = ?", (night.isoformat(),))
    if row is None or row["folder"] is None:
        return None
    folder = real_path(row["folder"], site)
    return None if folder.is_dir() else folder


def _stamp(file: Path) -> str | None:
    """What tells whether a night file is the one taken in: its size and time of writing."""
    try:
        found = file.stat()
    except OSError:
        return None
    return f"{found.st_size}:{found.st_mtime_ns}"
