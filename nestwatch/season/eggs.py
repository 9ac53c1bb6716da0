"""Counts of eggs: what cannot be is refused, what is unlikely is asked about. Pure."""

from __future__ import annotations

from nestwatch.errors import DoubtfulEntry, EntryError
from nestwatch.season.records import Eggs

MOST = 300
"""No turtle lays more in one nest: sea turtles' largest clutches are near 200 (from memory, no source)."""
UNLIKELY_TIMES = 3
"""So many times the largest clutch in the site file is asked about."""
UNLIKELY = 60
"""Asked about where the site file names no clutch size (common practice, no source)."""

STATES = ("whole", "dented", "cracked", "broken")


def check_eggs(eggs: Eggs, clutch_size: tuple[int, int] | None, *, sure: bool) -> None:
    """Raises `EntryError` for counts that cannot be, `DoubtfulEntry` for unlikely ones unless `sure`.

    `clutch_size`: (low, high) of the species, from the site file; None where it says nothing.
    """
    for state in STATES:
        count = getattr(eggs, state)
        if count is not None and not 0 <= count <= MOST:
            raise EntryError(f"{count} {state} eggs cannot be; give a number from 0 to {MOST}.")
    total = eggs.total or 0
    if total > MOST:
        raise EntryError(f"{total} eggs in one clutch cannot be; no turtle lays more than {MOST}.")
    most = UNLIKELY if clutch_size is None else UNLIKELY_TIMES * clutch_size[1]
    if total > most and not sure:
        usual = "" if clutch_size is None else f" (the site file says {clutch_size[0]} to {clutch_size[1]})"
        raise DoubtfulEntry(f"{total} eggs are very many for one clutch{usual}; if it is so, add --sure.")


def eggs_words(eggs: Eggs) -> str:
    """`9 eggs: 8 whole, 1 cracked`, or `eggs not counted`."""
    if eggs.total is None:
        return "eggs not counted"
    parts = [f"{count} {state}" for state in STATES if (count := getattr(eggs, state))]
    total = f"{eggs.total} egg{'' if eggs.total == 1 else 's'}"
    return f"{total}: {', '.join(parts)}" if parts else total
