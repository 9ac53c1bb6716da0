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
from nestwatch.site.records import Site, Units


@dataclass(frozen=True, slots=True)
class Marked:
    """What was written: the files, and the sheets in their order."""

    pdf: Path
    page: Path
    sheets: tuple[Sheet, ...]


@dataclass(frozen=True, slots=True)
class Made:
    """Sheets that are thought out but not set yet; `head` and `version` stand on each."""

    sheets: tuple[Sheet, ...]
    paper: Paper
    units: Units
    head: str
    version: str

    def pdf(self) -> bytes:
        """To print."""
        return printed(self.sheets, self.paper, self.units, head=self.head, version=self.version)

    def page(self) -> bytes:
        """For the phone, as UTF-8."""
        return phone_page(self.sheets, self.units, head=self.head, version=self.version).encode()


def make_marking(
    site: Site, document: Mapping[str, Any], digs: Sequence[Mapping[str, Any]], folder: Path, *, paper: Paper
) -> Made:
    """The sheets of these digs; `folder` is the night's, where its pictures lie. Nothing is written.

    Raises `NestwatchError` where the site file no longer fits the night.
    """
    sheets = tuple(make_sheet(site, document, dig, folder) for dig in digs)
    head = f"{site.name}, night of {long_date(date.fromisoformat(document['night']))}"
    return Made(sheets, paper, site.units, head, document["version"])


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
    made = make_marking(site, document, digs, folder, paper=paper)
    write_together(folder, {f"{name}.pdf": made.pdf(), f"{name}.html": made.page()})
    return Marked(folder / f"{name}.pdf", folder / f"{name}.html", made.sheets)
