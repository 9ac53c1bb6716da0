"""A site without recordings: incubation needs none."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.desk.conftest import SAMPLE
from tests.desk.eggs.boxes import EggDesk, boxed, nine_eggs
from tests.desk.mornings import MORNING


@pytest.fixture
def site_file(tmp_path: Path) -> Path:
    """The sample's site file in a folder of its own."""
    folder = tmp_path / "Föhn site"
    folder.mkdir()
    return Path(shutil.copy(SAMPLE / "site.toml", folder))


@pytest.fixture
def desk(site_file: Path) -> EggDesk:
    """Nine eggs in box A1 since the morning after laying, two months later."""
    return EggDesk(boxed(site_file))


@pytest.fixture
def fresh(site_file: Path) -> EggDesk:
    """The morning after laying, no box yet."""
    return EggDesk(nine_eggs(site_file), MORNING)
