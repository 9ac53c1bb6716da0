"""`digs.csv` after RFC 4180: line ends, quoting, what comes back, and nothing that runs as a formula."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nestwatch.report import digs_table, night_document
from nestwatch.report.records import PlacedDig
from nestwatch.report.table import COLUMNS
from tests.report.scenes import a_dig, a_night, a_placed, a_site, some_hours


def _table(*digs: PlacedDig, name: str = "Linden Fen") -> bytes:
    site = a_site(name=name)
    return digs_table(night_document(site, some_hours(), [a_night(), a_night("shed side")], digs, "0.1.0"))


def _read(table: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(table.decode(), newline=""), strict=True))


def test_values_of_the_example() -> None:
    (row,) = _read(_table(a_placed()))
    assert tuple(row) == COLUMNS
    assert row["night"] == "2026-06-12"
    assert (row["rank"], row["call"], row["likelihood"]) == ("1", "nest", "0.93")
    assert (row["from"], row["minutes"]) == ("2026-06-12T21:14:00+02:00", "124.0")
    assert (row["pixel_x"], row["pixel_y"]) == ("531.0", "424.0")
    assert (row["plan_x_m"], row["plan_y_m"], row["within_m"]) == ("2.7", "0.72", "0.06")
    assert row["in_nesting_hours"] == "yes"
    assert row["stages"].startswith("search 2026-06-12T21:14:00+02:00/2026-06-12T21:28:52+02:00; dig ")


def test_unknown_is_empty() -> None:
    (row,) = _read(_table(a_placed(marks=False)))
    for name in ("plan_x_m", "plan_y_m", "within_m", "shell_length_cm", "tape", "clip", "picture_before"):
        assert row[name] == ""


def test_no_digs_is_a_header_alone() -> None:
    assert _table() == (",".join(COLUMNS) + "\r\n").encode()


def test_line_ends_are_crlf_and_quotes_are_doubled() -> None:
    # RFC 4180, section 2, rules 1, 6 and 7.
    table = _table(a_placed(a_dig(camera='the "old", wet\r\none')))
    assert b'"the ""old"", wet\r\none"' in table
    assert table.endswith(b"\r\n")
    assert _read(table)[0]["camera"] == 'the "old", wet\r\none'


# Leading characters that make a cell a formula: OWASP, "CSV Injection".
@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", " =", "\n"])
def test_a_name_is_never_a_formula(start: str) -> None:
    evil = f'{start}HYPERLINK("x","y")'
    rows = _read(_table(a_placed(a_dig(camera=evil, reasons=(evil,))), name=evil))
    for column in ("camera", "cameras", "site", "reasons"):
        assert rows[0][column] == f"'{evil}"


def test_negative_numbers_stay_numbers() -> None:
    (row,) = _read(_table(replace(a_placed(), plan_m=(-0.3, -1.0))))
    assert (float(row["plan_x_m"]), float(row["plan_y_m"])) == (-0.3, -1.0)


@given(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), min_size=1, max_size=30))
@settings(max_examples=60, deadline=None)
def test_any_name_comes_back(name: str) -> None:
    (row,) = _read(_table(a_placed(a_dig(camera=name))))
    assert row["camera"] in (name, f"'{name}")
