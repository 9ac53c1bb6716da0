"""A fit of the likelihood: whether the finds carry one, entering it, and which is in force.

A fit is an entry of the record like any other: `nestwatch undo` takes it back, and the one before it (or the
likelihood as built) is in force again.
"""

from __future__ import annotations

import sqlite3

import nestwatch
from nestwatch.errors import DoubtfulEntry, FitError
from nestwatch.nesting.scale import Scale, SiteFit
from nestwatch.season.fit.entries import read_entries
from nestwatch.season.fit.records import Entries, Fit, Judged
from nestwatch.season.fit.reliability import judged
from nestwatch.season.fit.scale import FOLDS, OneSided, fit, left_out
from nestwatch.season.instants import read, written
from nestwatch.season.open import Record, Values

MINIMUM = 20
"""Finds of each kind, with eggs and without: ten of the rarer kind for each of the two numbers fitted.

Peduzzi et al. 1996, J Clin Epidemiol 49: 1373-1379, found no major problems from ten on. They counted
coefficients without the constant, so that this is twice their rule; van Smeden et al. 2016 (doi
10.1186/s12874-016-0267-3) show that the rule promises little, so a fit must also prove itself on nights that
it has not seen.
"""
_DIGITS = 9  # the journal writes 15 significant ones: what is taken back twice must be the same


def in_force(record: Record) -> Fit | None:
    """The fit that nights are scanned with; None: the likelihood as built."""
    row = record.row("SELECT * FROM likelihood_fit ORDER BY id DESC LIMIT 1")
    return None if row is None else _fit(row)


def site_fit(record: Record) -> SiteFit | None:
    """The fit in force as a night's run takes it."""
    found = in_force(record)
    return None if found is None else SiteFit(found.scale, found.finds, found.with_eggs, found.fitted_at)


def fit_likelihood(record: Record, *, sure: bool = False) -> Fit:
    """Fit the likelihood to the finds of today and enter that; returns it.

    Where the fit in force is to the same finds already, nothing is entered.
    Raises `FitError` where the finds do not carry a fit, `DoubtfulEntry` where it is no nearer to nights left
    out than the likelihood as built (taken where `sure`). Nothing is changed then.
    """
    entries, counts = read_entries(record)
    scale, after = proposed(entries)
    now = in_force(record)
    if now is not None and now.repeats(counts.finds, scale):
        return now
    before = judged(entries.likelihood, entries.eggs)
    if after.brier >= before.brier and not sure:
        raise DoubtfulEntry(_no_better(before, after))
    numbers = {"slope": scale.slope, "offset": scale.offset}
    numbers |= {"brier_before": before.brier, "brier_after": after.brier}
    values: Values = {
        "fitted_at": written(record.clock()),
        "finds": counts.finds,
        "with_eggs": counts.eggs,
        "nights": entries.nights,
        "program": nestwatch.__version__,
        **{name: round(number, _DIGITS) for name, number in numbers.items()},
    }
    with record.writing(f"likelihood fitted to {counts.finds} finds") as writer:
        writer.add("likelihood_fit", values)
    entered = in_force(record)
    assert entered is not None
    return entered


def proposed(entries: Entries) -> tuple[Scale, Judged]:
    """What a fit would be, and how it does where each night is judged by one without it.

    Raises `FitError`.
    """
    _require_enough(entries)
    try:
        scale = fit(entries.likelihood, entries.eggs)
        given = left_out(entries.likelihood, entries.eggs, entries.night)
    except OneSided:
        raise FitError(
            "nearly all finds of one kind are of the same nights, so that a fit cannot be judged by nights "
            "left out; fit again when more nights are settled."
        ) from None
    if scale.slope <= 0:
        raise FitError(
            "eggs were found no oftener where the likelihood was high, so that a fit would turn the ranking "
            "round; look whether the finds stand at the right digs (nestwatch find SITE NIGHT)."
        )
    return scale, judged(given, entries.eggs)


def _require_enough(entries: Entries) -> None:
    eggs = int(entries.eggs.sum())
    without = len(entries.eggs) - eggs
    missing = [
        f"{MINIMUM - count} {kind}"
        for count, kind in ((eggs, "with eggs"), (without, "without"))
        if count < MINIMUM
    ]
    if missing:
        raise FitError(
            f"too few finds to fit the likelihood to: {eggs} with eggs and {without} without, {MINIMUM} of "
            f"each are needed, so {' and '.join(missing)} are missing; fit again when more digs are settled."
        )
    if entries.nights < FOLDS:
        raise FitError(
            f"the finds are of {entries.nights} nights, and {FOLDS} are needed to judge a fit by nights left "
            "out; fit again when more nights are settled."
        )


def _no_better(before: Judged, after: Judged) -> str:
    return (
        "a fit to these finds is no nearer to nights that it has not seen (Brier score "
        f"{before.brier:.3f} as built, {after.brier:.3f} fitted; 0 is perfect), so nothing was changed; wait "
        "for more finds, or add --sure to take the fit all the same."
    )


def _fit(row: sqlite3.Row) -> Fit:
    same = ("id", "finds", "with_eggs", "nights", "brier_before", "brier_after", "program")
    return Fit(
        **{name: row[name] for name in same},
        fitted_at=read(row["fitted_at"]),
        scale=Scale(row["slope"], row["offset"]),
    )
