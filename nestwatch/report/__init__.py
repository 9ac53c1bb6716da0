"""What the keeper gets of a night: pictures, clips, the page, the table and the night file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from nestwatch.nesting.clocks import Disagreement
from nestwatch.nesting.raid import Raid
from nestwatch.nesting.scale import SiteFit
from nestwatch.report import nightfile, page, table
from nestwatch.report.clip import stay_clip
from nestwatch.report.files import file_name
from nestwatch.report.files import write_together as _write_together
from nestwatch.report.nightfile import night_document, write_night
from nestwatch.report.page import night_page
from nestwatch.report.pictures import dig_pictures, visitor_picture
from nestwatch.report.records import CameraNight, PlacedDig, SeenVisitor
from nestwatch.report.store import load_camera, save_camera
from nestwatch.report.summary import summary_lines
from nestwatch.report.table import digs_table
from nestwatch.site.records import NightHours, Site

__all__ = [
    "CameraNight",
    "PlacedDig",
    "SeenVisitor",
    "dig_pictures",
    "digs_table",
    "file_name",
    "load_camera",
    "night_document",
    "night_page",
    "save_camera",
    "stay_clip",
    "summary_lines",
    "visitor_picture",
    "write_night",
    "write_report",
]


def write_report(
    site: Site,
    hours: NightHours,
    cameras: Sequence[CameraNight],
    digs: Sequence[PlacedDig],
    folder: Path,
    version: str,
    *,
    raids: Sequence[Raid] = (),
    clocks: Sequence[Disagreement] = (),
    fit: SiteFit | None = None,
) -> dict[str, Any]:
    """Write `index.html`, `digs.csv` and last `night.json` into the night's `folder`; return the document.

    `digs` are ranked and merged, rests last. The presence of `night.json` tells that the report is
    complete. Should a write fail (`OutputError`), the results of an earlier run stay as they were.
    """
    document = night_document(site, hours, cameras, digs, version, raids=raids, clocks=clocks, fit=fit)
    # The table goes first: it is the one that another program may hold open (and so refuse) on Windows.
    contents = {
        table.NAME: digs_table(document),
        page.NAME: night_page(site, hours, document, folder).encode(),
        nightfile.NAME: nightfile.encode(document),
    }
    _write_together(folder, contents)
    return document
