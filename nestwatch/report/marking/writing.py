"""The sheets of a night written: a PDF to print and a page for the phone, both or neither."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from nestwatch.report.files import write_together
from nestwatch.report.marking.phone import phone_page
from nestwatch.report.marking.printed import printed
from nestwatch.report.marking.records import Paper, Sheet
from nestwatch.report.marking.sheet import make_sheet
from nestwatch.report.page import long_date
from nestwatch.site.records import Site


@dataclass(frozen=True, slots=True)
class Marked:
    """What was written: the files, and the sheets in their order."""

    pdf: Path
    page: Path
    sheets: tuple[Sheet, ...]


def write_marking(
    site: Site,
    document: Mapping[str, Any],
    digs: Sequence[Mapping[str, Any]],
    folder: Path,
    *,
    paper: Paper,
    name: str = "marking",
) -> Marked:
    """Write `<name>.pdf` and `<name>.html` for these digs into the night's `folder`, where its pictures lie.

    Raises `NestwatchError` where the site file no longer fits the night, `OutputError` where writing fails.
    """
    sheets = [make_sheet(site, document, dig, folder) for dig in digs]
    head = f"{site.name}, night of {long_date(date.fromisoformat(document['night']))}"
    contents = {
        f"{name}.pdf": printed(sheets, paper, site.units, head=head, version=document["version"]),
        f"{name}.html": phone_page(sheets, site.units, head=head, version=document["version"]).encode(),
    }
    write_together(folder, contents)
    return Marked(folder / f"{name}.pdf", folder / f"{name}.html", tuple(sheets))
