"""The pages on exporting and scheduling keep step with the program."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import click
import pytest

from nestwatch.commands.main import main
from nestwatch.season.export.incubation import incubation_tables
from nestwatch.season.export.observations import observations_table
from nestwatch.season.export.tables import read_season
from tests.conftest import ROOT
from tests.export.seasons import a_season, site_in


def page(name: str) -> str:
    return (ROOT / "docs" / f"{name}.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["export", "schedule"])
def test_every_option_is_on_its_page(name: str) -> None:
    for parameter in main.commands[name].params:
        if isinstance(parameter, click.Option):
            assert parameter.opts[0] in page(name), parameter.opts[0]


def test_every_table_is_on_the_page(tmp_path: Path) -> None:
    with closing(a_season(site_in(tmp_path))) as record:
        tables = (*read_season(record).tables, *incubation_tables(record))
    for table in tables:
        assert f"`{table.name}.csv`" in page("export")


def test_what_digs_are_taken_for_is_as_the_page_says(tmp_path: Path) -> None:
    from nestwatch.season.export.deployments import deployments_table
    from nestwatch.season.export.places import shared_place

    site = site_in(tmp_path)
    with closing(a_season(site)) as record:
        season = read_season(record)
    deployments = deployments_table(site, season.nights, shared_place(47.2, 1.6, exact=False))
    observations = observations_table(season.nights, season.clutches, deployments, None)
    found = {
        (row["observationType"], row["behavior"], row["classificationMethod"]) for row in observations.rows
    }
    assert len(found) == 5
    for kind, behaviour, method in found:
        cells = f"`{kind}` | `{behaviour}` | `{method}`".replace("nesting|", "nesting\\|").replace(
            "`None`", ""
        )
        assert cells.replace("|  |", "| |") in page("export")
