"""How it stands with the likelihood of a site: for the season's page and for `nestwatch fit --show`."""

from __future__ import annotations

from collections.abc import Iterator
from zoneinfo import ZoneInfo

from nestwatch.errors import FitError
from nestwatch.nesting.scale import Scale
from nestwatch.season.fit.entries import earlier_nights, read_entries
from nestwatch.season.fit.fits import MINIMUM, in_force, proposed
from nestwatch.season.fit.records import Counts, Entries, Fit, FitState, Judged
from nestwatch.season.fit.reliability import judged
from nestwatch.season.open import Record


def fit_state(record: Record) -> FitState:
    """The fit in force, the finds, and what a fit to them would be. Changes nothing. Raises `RecordError`."""
    entries, counts = read_entries(record)
    scale, after, why_not = _proposed(entries)
    now = in_force(record)
    return FitState(
        in_force=now,
        counts=counts,
        minimum=MINIMUM,
        before=judged(entries.likelihood, entries.eggs) if len(entries.eggs) else None,
        after=after,
        scale=scale,
        why_not=why_not,
        earlier=earlier_nights(record, None if now is None else now.scale),
    )


def _proposed(entries: Entries) -> tuple[Scale | None, Judged | None, str | None]:
    try:
        return *proposed(entries), None
    except FitError as error:
        return None, None, str(error)


def state_lines(state: FitState, zone: ZoneInfo) -> Iterator[str]:
    """How it stands, in sentences for the keeper."""
    yield in_force_line(state.in_force, zone)
    yield _counts_line(state.counts, state.minimum)
    yield from _left_out_lines(state.counts)
    if state.why_not is not None:
        yield f"No fit to them: {state.why_not}"
    elif state.before is not None and state.after is not None and not state.is_newest:
        yield f"A fit to them: {_scores(state.before.brier, state.after.brier)}"
    yield from _earlier_lines(state)


def in_force_line(fit: Fit | None, zone: ZoneInfo) -> str:
    """`Likelihood in force: fitted to 64 finds ...`, or that the likelihood is as built."""
    if fit is None:
        return "Likelihood in force: as the program was built, set on invented nights only."
    return (
        f"Likelihood in force: fitted to {fit.finds} finds ({fit.with_eggs} with eggs) of {fit.nights} "
        f"nights on {fit.fitted_at.astimezone(zone):%Y-%m-%d}. {_scores(fit.brier_before, fit.brier_after)}"
    )


def _scores(before: float, after: float) -> str:
    return (
        f"Brier score {before:.3f} as built, {after:.3f} fitted, each night judged by a fit without it (0 is "
        "perfect)."
    )


def _counts_line(counts: Counts, minimum: int) -> str:
    aside = f" ({counts.set_aside} of them set aside)" if counts.set_aside else ""
    kinds = f"{counts.eggs} with eggs, {counts.without} without{aside}"
    return f"Finds to fit on: {kinds}; {minimum} of each are needed."


def _left_out_lines(counts: Counts) -> Iterator[str]:
    parts = [f"rests that nobody dug up {counts.rests}"] if counts.rests else []
    parts += [f"digs still waiting {counts.waiting}"] if counts.waiting else []
    parts += [f"finds at digs no longer in the latest scan {counts.unlisted}"] if counts.unlisted else []
    if parts:
        yield f"Left out: {', '.join(parts)}."
    if counts.other_program:
        yield (
            f"Of another version of nestwatch: {counts.other_program} of the finds; scan their nights again "
            "first, so that all likelihoods are of one kind."
        )


def _earlier_lines(state: FitState) -> Iterator[str]:
    if state.earlier:
        count, last = len(state.earlier), state.earlier[-1]
        nights = "1 night keeps numbers" if count == 1 else f"{count} nights keep numbers"
        yield f"{nights} of before until scanned again: nestwatch night SITE --date {last}"
