"""The keeper's own tables: RFC 4180, ISO 8601, spreadsheets, incubation where there is any."""

from __future__ import annotations

import csv
import io
import math
import random
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from nestwatch.errors import OutputError, RecordError
from nestwatch.season.export.places import metres_per_degree, shared_place
from nestwatch.season.export.records import Cell, Field, Table
from nestwatch.season.export.tables import read_season
from nestwatch.season.export.text import csv_bytes
from nestwatch.season.export.write import write_csv
from nestwatch.season.open import Record, Values, open_record
from tests.export.seasons import SECRET, a_season, site_in

PARIS = ZoneInfo("Europe/Paris")


def table(*values: Cell) -> Table:
    fields = tuple(Field(f"c{number}", "string", "") for number in range(len(values)))
    return Table("t", "", fields, ({field.name: value for field, value in zip(fields, values, strict=True)},))


@pytest.mark.parametrize(
    ("value", "line"),
    [
        # RFC 4180, section 2: rules 5 to 7 (quotes around commas, line breaks and quotes; quotes doubled).
        ("a,b", '"a,b"'),
        ("a\nb", '"a\nb"'),
        ('a "b"', '"a ""b"""'),
        # ISO 8601, with the offset that was in force: the clocks went back on 25 October 2026 at 01:00 UTC.
        (datetime(2026, 10, 25, 0, 30, tzinfo=UTC), "2026-10-25T02:30:00+02:00"),
        (datetime(2026, 10, 25, 1, 30, tzinfo=UTC), "2026-10-25T02:30:00+01:00"),
        (date(2026, 6, 12), "2026-06-12"),
        (True, "true"),
        (False, "false"),
        (0.1, "0.1"),
        ("=1+1", "'=1+1"),
        (-1.5, "-1.5"),
        ("Süßwasser 龜", "Süßwasser 龜"),
    ],
)
def test_cells(value: Cell, line: str) -> None:
    text = csv_bytes(table("x", value), PARIS).decode()
    assert text == f"c0,c1\r\nx,{line}\r\n"
    if isinstance(value, str):
        assert next(csv.DictReader(io.StringIO(text, newline="")))["c1"].removeprefix("'") == value


def test_nothing_known_is_an_empty_cell() -> None:
    assert csv_bytes(table("x", None), PARIS) == b"c0,c1\r\nx,\r\n"


def test_bom() -> None:
    assert csv_bytes(table("x"), PARIS, bom=True) == b"\xef\xbb\xbfc0\r\nx\r\n"


def test_for_programs_text_stays_as_it_is() -> None:
    assert csv_bytes(table("=1+1"), PARIS, for_spreadsheets=False) == b"c0\r\n=1+1\r\n"


def read(folder: Path, name: str) -> list[dict[str, str]]:
    with (folder / f"{name}.csv").open(newline="", encoding="utf-8-sig") as file:
        return list(csv.DictReader(file))


def test_the_keeper_s_tables(tmp_path: Path) -> None:
    with closing(a_season(site_in(tmp_path))) as record:
        done = write_csv(record, read_season(record), tmp_path / "csv")
    assert done.rows == {
        "nights": 4,
        "footage": 4,
        "watched": 1,
        "digs": 6,
        "finds": 2,
        "clutches": 1,
        "females": 1,
    }
    assert sorted(path.stem for path in (tmp_path / "csv").iterdir()) == sorted(done.rows)
    dig = read(tmp_path / "csv", "digs")[1]
    assert (dig["plan_x_m"], dig["from"], dig["found"]) == ("1.5", "2026-06-12T21:14:00+02:00", "eggs")
    clutch = read(tmp_path / "csv", "clutches")[0]
    assert (clutch["eggs"], clutch["dented"], clutch["female"]) == ("9", "", "NA")
    assert clutch["note"] == f'\'=SUM(1,2) "{SECRET}"\nsecond line'


def test_nights_without_footage_are_told_apart(tmp_path: Path) -> None:
    with closing(a_season(site_in(tmp_path))) as record:
        write_csv(record, read_season(record), tmp_path / "csv")
    nights = {row["night"]: row for row in read(tmp_path / "csv", "nights")}
    assert (nights["2026-06-14"]["scanned_at"], nights["2026-06-14"]["nesting_seconds_read"]) == ("", "")
    assert nights["2026-06-14"]["watched_by_eye"] == "true"
    off = next(row for row in read(tmp_path / "csv", "footage") if row["camera"] == "shed side")
    assert off["seconds_read"] == "0.0"
    assert off["gaps"] == "2026-06-12T16:00:00+02:00/2026-06-13T09:00:00+02:00 no recording"


def test_an_empty_record(tmp_path: Path) -> None:
    with closing(open_record(site_in(tmp_path))) as record, pytest.raises(RecordError) as raised:
        read_season(record)
    assert str(raised.value) == (
        f"{tmp_path / 'record.sqlite'} holds no night, so there is nothing to export; run nestwatch night "
        "first."
    )


def test_a_year_without_a_night(tmp_path: Path) -> None:
    with closing(a_season(site_in(tmp_path))) as record, pytest.raises(RecordError) as raised:
        read_season(record, 2024)
    assert str(raised.value).endswith("run nestwatch night first, or choose another --year.")


def test_a_table_that_is_there_stays(tmp_path: Path) -> None:
    (tmp_path / "csv").mkdir()
    (tmp_path / "csv" / "digs.csv").write_text("mine")
    with closing(a_season(site_in(tmp_path))) as record:
        season = read_season(record)
        with pytest.raises(OutputError) as raised:
            write_csv(record, season, tmp_path / "csv")
        assert sorted(path.name for path in (tmp_path / "csv").iterdir()) == ["digs.csv"]
        write_csv(record, season, tmp_path / "csv", replace=True)
    assert str(raised.value) == (
        f"{tmp_path / 'csv'} holds digs.csv already; choose another folder with --out, or add --replace to "
        "write over them."
    )
    assert len(read(tmp_path / "csv", "digs")) == 6


# Incubation --------------------------------------------------------------------------------------------


def incubated(record: Record) -> None:
    """A box with two eggs of the clutch, one hatched, one reading; and a box that stays empty."""
    with record.writing("incubation") as writer:
        box = writer.add("container", {"label": "B1", "water_g": 80.0, "set_up_at": "2026-06-13T07:00:00Z"})
        writer.add("container", {"label": "B2", "set_up_at": "2026-06-13T07:00:00Z"})
        eggs = [
            writer.add(
                "egg",
                {
                    "clutch": 1,
                    "container": box,
                    "position": place,
                    "top_marked": 1,
                    "put_at": "2026-06-13T07:05:00Z",
                },
            )
            for place in ("A1", "A2")
        ]
        hatched: Values = {"egg": eggs[0], "at": "2026-08-20T06:00:00Z", "outcome": "alive", "mass_g": 5.5}
        writer.add("hatching", hatched)
        probe = writer.add("probe", {"name": "p1", "container": box, "lies": "substrate"})
        batch: Values = {"probe": probe, "how": "by hand", "count": 2, "starts_at": "2026-06-14T00:00:00Z"}
        data = '{"s": [1781395200, 1781398800], "c": [28.5, 28.625], "h": null}'
        writer.add("readings", {**batch, "ends_at": "2026-06-14T01:00:00Z", "data": data})


def test_incubation_where_the_record_has_it(tmp_path: Path) -> None:
    with closing(a_season(site_in(tmp_path))) as record:
        incubated(record)
        done = write_csv(record, read_season(record), tmp_path / "csv")
    expected = {"containers": 2, "eggs": 2, "probes": 1, "hatchings": 1, "readings": 2}
    assert {name: count for name, count in done.rows.items() if name in expected} == expected
    assert read(tmp_path / "csv", "eggs")[1]["top_marked"] == "true"
    hatching = read(tmp_path / "csv", "hatchings")[0]
    assert (hatching["egg"], hatching["at"], hatching["mass_g"]) == ("1", "2026-08-20T08:00:00+02:00", "5.5")
    reading = read(tmp_path / "csv", "readings")[1]
    assert (reading["at"], reading["celsius"], reading["humidity"]) == (
        "2026-06-14T03:00:00+02:00",
        "28.625",
        "",
    )


def test_a_year_keeps_its_own_boxes(tmp_path: Path) -> None:
    with closing(a_season(site_in(tmp_path))) as record:
        incubated(record)
        now, before = (read_season(record, year) for year in (2026, 2025))
    rows = {table.name: len(table.rows) for table in now.tables}
    assert (rows["containers"], rows["eggs"], rows["hatchings"], rows["readings"]) == (1, 2, 1, 2)
    rows = {table.name: len(table.rows) for table in before.tables}
    assert (rows["containers"], rows["eggs"], rows["hatchings"], rows["readings"]) == (0, 0, 0, 0)
    probe = next(table for table in before.tables if table.name == "probes").rows[0]
    assert (probe["name"], probe["container"]) == ("p1", None)


def test_a_record_without_incubation(tmp_path: Path) -> None:
    """As records were before they knew of it: the tables are not there at all."""
    with closing(a_season(site_in(tmp_path))) as record:
        for name in ("growth", "hatching", "weighing", "inspection", "readings", "probe", "egg", "container"):
            record.rows(f"DROP TABLE {name}")
        names = [table.name for table in read_season(record).tables]
    assert names == ["nights", "footage", "watched", "digs", "finds", "clutches", "females"]


# Places ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("latitude", "north", "east"),
    # Length of a degree on WGS 84 in km, as printed in encyclopedias' tables (from memory).
    [(0, 110.574, 111.320), (30, 110.852, 96.486), (60, 111.412, 55.800), (90, 111.694, 0.0)],
)
def test_length_of_a_degree(latitude: float, north: float, east: float) -> None:
    assert metres_per_degree(latitude) == pytest.approx((1000 * north, 1000 * east), abs=1.0)


def apart(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Metres between two places, by the haversine formula on a sphere of the Earth's mean radius."""
    (a, b), (c, d) = ([math.radians(value) for value in place] for place in (one, other))
    half = math.sin((c - a) / 2) ** 2 + math.cos(a) * math.cos(c) * math.sin((d - b) / 2) ** 2
    return 2 * 6371008.8 * math.asin(math.sqrt(half))


@pytest.mark.parametrize("latitude", [-54.8, -0.02, 0.04, 31.0, 47.2, 69.9, 89.97])
def test_the_radius_holds_the_true_place(latitude: float) -> None:
    """Wherever the site is, and in whatever corner of the rounding."""
    draw = random.Random(7)
    furthest = 0.0
    for _ in range(400):
        true = (min(latitude + draw.uniform(-0.1, 0.1), 90.0), draw.uniform(-180, 180))
        told = shared_place(round(true[0], 4), round(true[1], 4), exact=False)
        assert told.precision == 0.1
        assert round(told.latitude, 1) == told.latitude
        away = apart(true, (told.latitude, told.longitude))
        assert away <= told.within_m
        furthest = max(furthest, away / told.within_m)
    assert furthest > 0.9  # and is not merely large


@pytest.mark.parametrize(
    ("written", "exact", "told", "within"),
    [
        ((47.2184, 1.5536), False, (47.2, 1.6), (6700, 6900)),
        ((47.2184, 1.5536), True, (47.2184, 1.5536), (100, 110)),
        ((47.2, 1.6), False, (47.2, 1.6), (6700, 6900)),
        ((47.2, 1.6), True, (47.2, 1.6), (6700, 6900)),  # as rough as it was written
        ((47.0, 2.0), True, (47.0, 2.0), (67000, 69000)),
        ((-0.04, 0.04), False, (0.0, 0.0), (7900, 8800)),
    ],
)
def test_places(
    written: tuple[float, float], exact: bool, told: tuple[float, float], within: tuple[float, float]
) -> None:
    place = shared_place(*written, exact=exact)
    assert (place.latitude, place.longitude) == told
    assert within[0] <= place.within_m <= within[1]
    assert "-0.0" not in {str(place.latitude), str(place.longitude)}
