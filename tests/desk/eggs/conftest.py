"""A site without recordings: incubation needs none."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.desk.conftest import SAMPLE


@pytest.fixture
def site_file(tmp_path: Path) -> Path:
    """The sample's site file in a folder of its own."""
    folder = tmp_path / "Föhn site"
    folder.mkdir()
    return Path(shutil.copy(SAMPLE / "site.toml", folder))
