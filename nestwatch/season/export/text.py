"""A table as CSV: RFC 4180, UTF-8, instants in ISO 8601 with their offset. Pure."""

from __future__ import annotations

import csv
import io
from datetime import datetime, tzinfo

from nestwatch.report.table import harmless
from nestwatch.season.export.records import Cell, Table

BOM = "\ufeff"
"""Some spreadsheet programs take a file for UTF-8 only where it begins with this mark."""


def csv_bytes(table: Table, zone: tzinfo, *, bom: bool = False, for_spreadsheets: bool = True) -> bytes:
    """The table with a header; CRLF line ends; empty is unknown. Instants are shown in `zone`.

    `for_spreadsheets`: text that a spreadsheet would run as a formula gets an apostrophe in front.
    """
    file = io.StringIO(newline="")
    writer = csv.writer(file, lineterminator="\r\n")
    names = [field.name for field in table.fields]
    writer.writerow(names)
    for row in table.rows:
        cells = [_cell(row[name], zone) for name in names]
        writer.writerow([harmless(cell) for cell in cells] if for_spreadsheets else cells)
    return ((BOM if bom else "") + file.getvalue()).encode()


def _cell(value: Cell, zone: tzinfo) -> Cell:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, datetime):
        return value.astimezone(zone).isoformat(timespec="seconds")
    return value
