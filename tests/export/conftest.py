"""Packages that several tests read."""

from __future__ import annotations

from pathlib import Path

import pytest

from nestwatch.season.export.sharing import Sharing
from tests.export.packages import Make, exported


@pytest.fixture(scope="module")
def make(tmp_path_factory: pytest.TempPathFactory) -> Make:
    """`make(sharing)` writes a package of the invented season and gives its folder; each kind once."""
    done: dict[Sharing, Path] = {}

    def made(sharing: Sharing | None = None) -> Path:
        sharing = sharing or Sharing()
        if sharing not in done:
            folder = tmp_path_factory.mktemp("site")
            exported(folder, sharing)
            done[sharing] = folder / "package"
        return done[sharing]

    return made
