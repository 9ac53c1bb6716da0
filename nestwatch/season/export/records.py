"""A table as it is exported. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Literal

Cell = str | int | float | bool | date | datetime | None
Kind = Literal["string", "integer", "number", "boolean", "date", "datetime"]
"""Types of the Table Schema standard."""
Private = Literal["words", "place"]
"""Why a column stays in the house: free words (they may name people and places), or where a nest is."""
Row = Mapping[str, Cell]


@dataclass(frozen=True, slots=True)
class Field:
    """A column. `refers`: the table whose `id` its values are. `private`: None where anyone may read it."""

    name: str
    kind: Kind
    description: str
    refers: str | None = None
    private: Private | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """Rows by column name; instants are aware, None is unknown or not said."""

    name: str
    description: str
    fields: tuple[Field, ...]
    rows: tuple[Row, ...]

    def without(self, kinds: set[Private]) -> Table:
        """The table without the columns that are private for one of these reasons."""
        return replace(self, fields=tuple(each for each in self.fields if each.private not in kinds))


ID = Field("id", "integer", "Number in the record; never used again.")
NOTE = Field("note", "string", "The keeper's note.", private="words")
