"""What stands on the season's page, before it is laid out. Text is plain; the template escapes it."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of text under their heads; the first cell names the row."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Shown:
    """A chart, or several that go on, with its words for those who do not see it and its numbers.

    `note`: a sentence under it, "" for none. `earlier`: of a pen, the nests of earlier years.
    """

    title: str
    charts: tuple[Markup, ...]
    alt: str
    table: Table
    note: str = ""
    earlier: Table | None = None


@dataclass(frozen=True, slots=True)
class Fitted:
    """Sentences, and (alt, picture) pairs with the numbers behind them.

    Pictures are PNG, or SVG as matplotlib writes it. A page that may not show `data:` addresses (the desk's)
    needs SVG, or none.
    """

    lines: tuple[str, ...]
    pictures: tuple[tuple[str, bytes], ...] = ()
    table: Table | None = None
