"""A record of many nights whose digs were dug up; what lay there is drawn by chance from a known scale."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import numpy as np

from nestwatch.nesting.scale import Scale
from nestwatch.season.digs import digs_of
from nestwatch.season.finds import enter_find
from nestwatch.season.nights import take_in
from nestwatch.season.open import Record
from tests.season.records import dig_entry, night_file, site_in

FIRST = date(2026, 5, 20)
TRUE = Scale(2.0, -1.5)
"""What the log odds as built mean at this site: they are half too small, and too high."""


def settled(record: Record, folder: Path, *, nights: int = 24, true: Scale = TRUE, seed: int = 1) -> None:
    """Nights of four digs and a rest; all but the rest and the last dig of each night are settled."""
    rng = np.random.default_rng(seed)
    for number in range(nights):
        night = FIRST + timedelta(days=number)
        enter_night(record, folder, night, [float(each) for each in rng.uniform(0.05, 0.95, 4).round(3)])
        for dig in digs_of(record, night)[:3]:
            assert dig.likelihood is not None
            eggs = rng.random() < true.one(dig.likelihood)
            why = "a hedgehog" if number == 0 else None
            found = "eggs" if eggs else "set-aside" if why else "empty"
            enter_find(record, site_in(folder), dig, found, why=None if eggs else why)  # type: ignore[arg-type]


def enter_night(record: Record, folder: Path, night: date, likelihoods: list[float]) -> None:
    """A scanned night with a dig for each likelihood, a metre apart, and a rest."""
    digs = [
        {**dig_entry(rank, place=(float(rank), 0.7)), "likelihood": likelihood}
        for rank, likelihood in enumerate(sorted(likelihoods, reverse=True), start=1)
    ]
    digs.append({**dig_entry(len(digs) + 1, place=(1.0, 2.5), call="rest"), "likelihood": 0.02})
    document = night_file(digs, night.isoformat())
    for dig in digs:
        dig["from"] = dig["from"].replace("2026-06-12", night.isoformat())
        dig["to"] = dig["to"].replace("2026-06-12", night.isoformat())
        dig["stages"] = []
    take_in(record, site_in(folder), document, folder / "nights" / night.isoformat())
