"""The record as earlier versions of nestwatch wrote it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from nestwatch.season import digs, migrations, nights
from nestwatch.season.scan import dig_values


@contextmanager
def written_by_version(version: int, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Inside, records are begun and written as at that version of the file."""
    scripts = migrations._scripts()[:version]
    tables = tuple(
        table for table in migrations.JOURNALLED if any(f"CREATE TABLE {table} " in each for each in scripts)
    )

    def older_values(*told: Any) -> dict[str, Any]:
        return {name: value for name, value in dig_values(*told).items() if name != "likelihood_as_built"}

    with monkeypatch.context() as older:
        older.setattr(migrations, "_scripts", lambda: scripts)
        older.setattr(migrations, "JOURNALLED", tables)
        if version < 3:
            older.setattr(nights, "dig_values", older_values)
            without = digs._SELECT.replace("dig.*", "dig.*, NULL AS likelihood_as_built")
            older.setattr(digs, "_SELECT", without)
        yield
