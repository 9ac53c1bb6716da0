"""What a species profile says and on whose word: values with their source, or the mark that there is none."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Read = Literal["whole", "abstract", "memory", "own"]
"""How the source was read: the whole text, its abstract or an excerpt, remembered only, one's own records."""

NO_SOURCE = "no source"
_HOW = {
    "whole": "",
    "abstract": " (as read in an abstract)",
    "memory": " (from memory)",
    "own": " (own records)",
}


@dataclass(frozen=True, slots=True)
class Source:
    """Where a value comes from."""

    words: str
    read: Read

    def __str__(self) -> str:
        return f"{self.words}{_HOW[self.read]}"


@dataclass(frozen=True, slots=True)
class Span:
    """A value from `low` to `high` (equal for a single one). `source` None: common practice, no source."""

    low: float
    high: float
    source: Source | None

    def words(self, unit: str) -> str:
        """`27 to 30 °C`, or `24 days`."""
        shown = f"{self.low:g}" if self.low == self.high else f"{self.low:g} to {self.high:g}"
        return f"{shown} {unit}"

    @property
    def credit(self) -> str:
        """The source in brackets, or that there is none."""
        return f"[{self.source or NO_SOURCE}]"


@dataclass(frozen=True, slots=True)
class Days:
    """Days from laying to hatching. `at_c`: temperatures they hold for, None where not told."""

    days: Span
    at_c: tuple[float, float] | None

    def words(self) -> str:
        """`55 to 75 days at 27 to 30 °C [no source]`."""
        at = "" if self.at_c is None else f" at {_span(self.at_c)} °C"
        return f"{self.days.words('days')}{at} {self.days.credit}"


def _span(pair: tuple[float, float]) -> str:
    return f"{pair[0]:g}" if pair[0] == pair[1] else f"{pair[0]:g} to {pair[1]:g}"
