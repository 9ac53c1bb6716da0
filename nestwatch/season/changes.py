"""What a scan changed in the record, and how the keeper is told. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Kept:
    """A dig that was listed before and is not in the new scan. `rank` it had, `letter` it has now.

    `found`: the keeper's find, None without one. `unsure`: it may be one of several digs of the new scan.
    """

    rank: int
    letter: str
    call: str | None
    found: str | None
    unsure: bool


@dataclass(frozen=True, slots=True)
class ScanChanges:
    """One night taken in. `first`: it was never scanned before. `as_before`: digs that were found again.

    `renumbered`: (label before, label now) of those whose label changed. `new`: labels of new digs.
    """

    night: date
    first: bool
    as_before: int
    renumbered: tuple[tuple[str, str], ...]
    new: tuple[str, ...]
    gone: tuple[Kept, ...]

    def summary(self) -> str:
        """`3 digs`, or `2 digs as before, 1 new, 1 no longer found`."""
        if self.first and not self.as_before:
            return _digs(len(self.new))
        parts = [f"{_digs(self.as_before)} as before"]
        parts += [f"{len(self.new)} new"] if self.new else []
        parts += [f"{len(self.gone)} no longer found"] if self.gone else []
        return ", ".join(parts)


def change_lines(changes: ScanChanges) -> list[str]:
    """Sentences for the keeper; none for a first scan."""
    if changes.first and not changes.as_before:
        return []
    lines = [f"Compared with what the record had of {changes.night}: {changes.summary()}."]
    lines += [f"Dig {before} is now called {now}." for before, now in changes.renumbered]
    return lines + list(_gone(changes.gone))


def _gone(gone: tuple[Kept, ...]) -> Iterator[str]:
    for dig in gone:
        now = "may be one of several digs of this scan" if dig.unsure else "is not in this scan"
        yield f"Dig {dig.rank} ({dig.call or 'added by hand'}) {now}: {_what_of(dig)}, as dig {dig.letter}."


def _what_of(dig: Kept) -> str:
    if dig.found is not None:
        return f"your find ({dig.found}) is kept"
    return "it stays open" if dig.call in {"nest", None} else "it had no find and is not asked for any more"


def _digs(count: int) -> str:
    return f"{count} dig{'' if count == 1 else 's'}"
