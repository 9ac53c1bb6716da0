"""The tally as tables for a spreadsheet, one file each. Tables without a row are left out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import tzinfo
from pathlib import Path

from nestwatch.report.files import write_together
from nestwatch.season.export.digs import LABEL
from nestwatch.season.export.folder import clear_earlier, require_free
from nestwatch.season.export.nights import NIGHT
from nestwatch.season.export.package import file_of
from nestwatch.season.export.records import Field, Table
from nestwatch.season.export.records import Row as Cells
from nestwatch.season.export.text import csv_bytes
from nestwatch.season.tally.records import (
    Attempt,
    By,
    CameraHours,
    FemaleSeason,
    Hatch,
    MapNest,
    Row,
    Season,
    Share,
)

_PEN = Field("pen", "string", "The pen; empty: none.")
_FEMALE = Field("female", "string", "The female; empty: not known.")
_PLACE = (
    Field("plan_x_m", "number", "Egg chamber on the pen's plan, metres."),
    Field("plan_y_m", "number", "The same, the other axis."),
    Field("within_m", "number", "Radius that holds the chamber in 9 of 10 cases, metres."),
)
_EGGS = (
    Field("eggs", "integer", "Eggs counted at lifting; empty: not counted."),
    Field("alive", "integer", "Eggs in boxes that hatched alive."),
    Field("dead_in_shell", "integer", "Dead in the shell."),
    Field("infertile", "integer", "Infertile."),
    Field("lost", "integer", "Lost before: spoilt, broken, taken."),
    Field("pending", "integer", "In a box and not settled yet."),
)
_SHARE = (
    Field("share", "number", "Share, 0 to 1; empty: no case."),
    Field("low", "number", "Lower end of its exact 95 % interval (Clopper and Pearson)."),
    Field("high", "number", "Upper end."),
)
_ATTEMPT = (
    Field("dig", "integer", "Number in the record."),
    NIGHT,
    LABEL,
    Field("kind", "string", "nest, trial, open (still to be settled), false (set aside: no attempt)."),
    Field("source", "string", "scan; by hand: footage, eye, found."),
    Field("call", "string", "What the program thinks: nest, trial, rest, unclear; empty: no scan saw it."),
    Field("likelihood", "number", "That eggs lie there, 0 to 1, as the program was built."),
    Field("listed", "boolean", "In the latest scan of its night."),
    Field("scanned", "boolean", "Its night was scanned."),
    Field("seen", "boolean", "A camera saw its pen for an hour or more of that night."),
    Field("at", "datetime", "When the eggs were laid; of other digs the start."),
    Field("to", "datetime", "When the dig ended."),
    Field("hour", "integer", "Hour of `at` on the site's clock."),
    Field("week", "date", "Monday of the night's week."),
    _PEN,
    Field("zone", "string", "The zone on the camera's picture."),
    _FEMALE,
    *_PLACE,
    *_EGGS,
    Field("celsius", "number", "Mean temperature of the nesting hours; empty: not known."),
    Field("rain_mm", "number", "Rain in the nesting hours, mm; empty: not known."),
)
_ROW = (
    Field("name", "string", "The group; empty: not known which."),
    Field("attempts", "integer", "Nests, trials and open digs."),
    Field("nests", "integer", "Digs with eggs."),
    Field("trials", "integer", "Digs without eggs."),
    Field("open", "integer", "Still to be settled."),
    *_EGGS,
    Field("settled", "integer", "Eggs of which is known what became of them."),
    *_SHARE,
    Field("nights_seen", "integer", "Nights seen by a camera; empty: no such measure."),
    Field("hours_seen", "number", "Hours of nesting time seen by cameras; empty: no such measure."),
    Field("attempts_seen", "integer", "Attempts in nights in which a camera saw their pen."),
    Field("per_ten_hours", "number", "Those attempts in ten hours that were seen."),
)
_FEMALES = (
    Field("female", "string", "Her name."),
    Field("clutches", "integer", "Her clutches of the year."),
    Field("nights", "string", "Their nights, separated by |."),
    Field("eggs", "integer", "Her eggs that were counted; empty: none was."),
    Field("days_between", "string", "Days from each clutch to the next, separated by |."),
    Field("typical_low", "integer", "Usual days between clutches, from."),
    Field("typical_high", "integer", "To."),
    Field("typical_by", "string", "On whose word."),
    Field("due_from", "date", "When another clutch may come; empty: none is expected."),
    Field("due_to", "date", "Until when."),
    Field("is_due", "boolean", "That time has begun."),
    Field("why", "string", "Why so."),
)
_CAMERAS = (
    Field("camera", "string", "The camera."),
    _PEN,
    Field("nights", "integer", "Nights with an hour of usable nesting time or more."),
    Field("expected_h", "number", "Hours of nesting time expected of it."),
    Field("usable_h", "number", "Of these, read and clear enough to judge."),
)
_NIGHTS = (
    Field("what", "string", "What is counted (docs/season.md)."),
    Field("value", "number", "How many nights, or hours where the name says so."),
)
_PERFORMANCE = (
    Field("what", "string", "recall, called, precision (docs/season.md)."),
    Field("count", "integer", "Cases that were so."),
    Field("of", "integer", "Of so many."),
    *_SHARE,
)
_NAMES: tuple[By, ...] = ("female", "pen", "zone", "hour", "week", "temperature", "rain")


def tables_of(season: Season) -> tuple[Table, ...]:
    """Every table, those without a row too."""
    groups = (
        Table(f"tally-by-{by}", f"Attempts by {by}.", _ROW, tuple(map(_row, season.groups.get(by, ()))))
        for by in _NAMES
    )
    nests = (*season.nests, *season.earlier)
    return (
        Table("tally-total", "The year in one row.", _ROW, (_row(season.total),)),
        Table("tally-attempts", "Every attempt.", _ATTEMPT, tuple(map(_attempt, season.attempts))),
        *groups,
        Table("tally-females", "Females.", _FEMALES, tuple(map(_female, season.females))),
        Table("tally-nights", "What was looked at.", _NIGHTS, tuple(_nights(season))),
        Table(
            "tally-unseen",
            "Nights not seen.",
            (NIGHT,),
            tuple({"night": n} for n in season.nights.unseen_nights),
        ),
        Table("tally-cameras", "Cameras.", _CAMERAS, tuple(map(_camera, season.nights.cameras))),
        Table(
            "tally-nests",
            "Nests with a place, of all years.",
            (NIGHT, LABEL, _PEN, *_PLACE, _FEMALE),
            tuple(map(_nest, nests)),
        ),
        Table("tally-performance", "How nestwatch did.", _PERFORMANCE, tuple(_performance(season))),
        Table(
            "tally-mistakes",
            "Digs missed or false.",
            (NIGHT, LABEL, Field("what", "string", "missed or false.")),
            tuple(_mistakes(season)),
        ),
        Table(
            "tally-notes",
            "What to know of the numbers.",
            (Field("note", "string", "A sentence."),),
            tuple({"note": each} for each in season.notes),
        ),
    )


def write_tables(season: Season, folder: Path, zone: tzinfo, *, replace: bool = False) -> dict[str, int]:
    """Write the tables that have rows; returns rows by file name. Instants are shown in `zone`.

    Raises `OutputError`, also where a file is there already unless `replace`.
    """
    tables = tables_of(season)
    filled = [table for table in tables if table.rows]
    contents = {file_of(table): csv_bytes(table, zone) for table in filled}
    require_free(folder, contents, replace=replace, option="--csv")
    write_together(folder, contents)
    clear_earlier(folder, [file_of(table) for table in tables], contents)
    return {file_of(table): len(table.rows) for table in filled}


def _eggs(hatch: Hatch | None) -> Cells:
    names = ("eggs", "alive", "dead_in_shell", "infertile", "lost", "pending")
    return {name: None if hatch is None else getattr(hatch, name) for name in names}


def _share(share: Share) -> Cells:
    return {name: _rounded(getattr(share, name), 4) for name in ("share", "low", "high")}


def _rounded(value: float | None, places: int) -> float | None:
    return None if value is None else round(value, places)


def _place(plan_m: tuple[float, float] | None, within_m: float | None) -> Cells:
    x, y = plan_m or (None, None)
    return {"plan_x_m": x, "plan_y_m": y, "within_m": within_m}


def _attempt(each: Attempt) -> Cells:
    same = (
        "dig",
        "night",
        "kind",
        "source",
        "call",
        "likelihood",
        "listed",
        "scanned",
        "seen",
        "at",
        "hour",
        "week",
    )
    return {
        **{name: getattr(each, name) for name in (*same, "pen", "zone", "female")},
        "dig_label": each.label,
        "to": each.end,
        **_place(each.plan_m, each.within_m),
        **_eggs(each.hatch),
        "celsius": None if each.weather is None else _rounded(each.weather.celsius, 2),
        "rain_mm": None if each.weather is None else _rounded(each.weather.rain_mm, 2),
    }


def _row(row: Row) -> Cells:
    return {
        **{name: getattr(row, name) for name in ("name", "attempts", "nests", "trials", "open")},
        **_eggs(row.hatch),
        "settled": row.hatch.settled,
        **_share(row.hatched),
        "nights_seen": row.nights,
        "hours_seen": _rounded(row.hours, 2),
        "attempts_seen": row.seen,
        "per_ten_hours": _rounded(row.per_ten_hours, 3),
    }


def _female(each: FemaleSeason) -> Cells:
    low, high = each.typical_days or (None, None)
    first, last = each.due or (None, None)
    return {
        "female": each.name,
        "clutches": len(each.clutches),
        "nights": _listed(each.clutches),
        "eggs": each.eggs,
        "days_between": _listed(each.days_between),
        "typical_low": low,
        "typical_high": high,
        "typical_by": each.typical_by,
        "due_from": first,
        "due_to": last,
        "is_due": each.is_due,
        "why": each.why,
    }


def _listed(values: Sequence[object]) -> str | None:
    return " | ".join(map(str, values)) or None


def _nights(season: Season) -> Iterator[Cells]:
    names = ("expected", "scanned", "dark", "watched", "unseen", "out_of_season", "expected_h", "read_h")
    yield from ({"what": name, "value": _rounded(getattr(season.nights, name), 2)} for name in names)


def _camera(each: CameraHours) -> Cells:
    same = {name: getattr(each, name) for name in ("camera", "pen", "nights")}
    return {**same, "expected_h": _rounded(each.expected_h, 2), "usable_h": _rounded(each.read_h, 2)}


def _nest(each: MapNest) -> Cells:
    same = {name: getattr(each, name) for name in ("night", "pen", "female")}
    return {**same, "dig_label": each.label, **_place(each.plan_m, each.within_m)}


def _performance(season: Season) -> Iterator[Cells]:
    for name in ("recall", "called", "precision"):
        share: Share = getattr(season.performance, name)
        yield {"what": name, "count": share.count, "of": share.of, **_share(share)}


def _mistakes(season: Season) -> Iterator[Cells]:
    seen = season.performance
    for what, digs in (("missed", seen.missed), ("false", seen.false)):
        for night, label in digs:
            yield {"night": night, "dig_label": label, "what": what}
