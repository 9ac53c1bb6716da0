"""A record of settled nights, built once and copied for each test."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from nestwatch.season.open import Record
from tests.season.fit.settled import settled
from tests.season.records import record_in


@pytest.fixture(scope="session")
def settled_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("settled")
    with record_in(folder) as record:
        settled(record, folder)
    return folder / "record.sqlite"


@pytest.fixture
def record(settled_file: Path, tmp_path: Path) -> Iterator[Record]:
    """An open record with 72 settled finds of 24 nights, 24 digs that wait and 24 rests."""
    shutil.copy(settled_file, tmp_path / "record.sqlite")
    with record_in(tmp_path) as opened:
        yield opened
