"""docs/season.md names what there is: every table, every option of the weather, every judgement's number."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

import nestwatch
from nestwatch.commands.main import main
from nestwatch.season.second_clutch import SHORTEST, SPREAD
from nestwatch.season.tally import groups, seen, weather
from nestwatch.season.tally.season import season_of
from nestwatch.season.tally.tables import tables_of
from tests.season.tally.seasons import a_record, a_site, nest

ROOT = Path(nestwatch.__file__).parent.parent
TEXT = " ".join((ROOT / "docs" / "season.md").read_text(encoding="utf-8").split())


def test_every_table_is_named(tmp_path: Path) -> None:
    site = a_site(tmp_path)
    with a_record(site) as record:
        nest(record, site, date(2026, 6, 12), 9)
        tables = tables_of(season_of(record, site))
    for table in tables:
        short = table.name.replace("tally-by", "") if table.name != "tally-by-female" else table.name
        assert f"`{short}`" in TEXT, table.name
        for row in table.rows:
            assert set(row) == {field.name for field in table.fields}, table.name


def test_every_option_is_named() -> None:
    help_text = CliRunner().invoke(main, ["season", "--help"]).stdout
    options = {word.strip(",:.") for word in help_text.split() if word.startswith("--")} - {"--help", "--out"}
    assert {option for option in options if option not in TEXT} == set()


@pytest.mark.parametrize(
    "words",
    [
        f"groups of {groups.STEP_C} °C",
        f"less than {groups.WET_MM:.0f} mm",
        f"less than {SHORTEST} days apart",
        f"({weather.LIKELY_C[0]:.0f} to {weather.LIKELY_C[1]:.0f} °C, judgement)",
    ],
)
def test_our_own_choices_are_told(words: str) -> None:
    assert words in TEXT


def test_an_hour_a_week_and_half_an_hour() -> None:
    """Numbers that the text has in words."""
    assert (seen.ENOUGH_S, groups.OF_AN_HOUR_S, SPREAD.days) == (3600, 1800, 7)
    assert "those with an hour of it; of an hour of the clock, with half of it" in TEXT
    assert "from a week before the usual days to a week after" in TEXT
