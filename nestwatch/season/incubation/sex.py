"""What temperature says of sex: only where the profile has a source, and never as a promise. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from nestwatch.errors import EntryError
from nestwatch.season.incubation.profile import Profile, Sex

NO_PROMISE = "This promises nothing: only a vet or a grown animal tells."
THIRD = (1 / 3, 2 / 3)
"""Sex is settled in about the middle third of development (common knowledge, from memory, no source)."""


def sex_words(profile: Profile, celsius: Sequence[float]) -> str:
    """One sentence or two on sex at constant-temperature equivalents `celsius` (one of each probe).

    Raises `EntryError` where the species' sex does not depend on temperature, where the profile names no
    source, or without a temperature.
    """
    sex = profile.sex
    if sex is None:
        raise EntryError(f"nothing is said of sex: the profile of {profile.name} names no source for it.")
    if not sex.by_temperature:
        raise EntryError(
            f"nothing is said of sex: it does not depend on temperature in the {profile.name} [{sex.source}]."
        )
    if not celsius:
        raise EntryError("nothing is said of sex: no readings cover the middle third of development.")
    told = " to ".join(f"{each:.1f}" for each in sorted({min(celsius), max(celsius)}))
    note = f": {sex.note}" if sex.note else ""
    return f"At {told} °C {_said(sex, celsius)} [{sex.source}{note}]. {NO_PROMISE}"


def _said(sex: Sex, celsius: Sequence[float]) -> str:
    """`Mixed` near a threshold, across one, or where the source names no side."""
    thresholds = [each.low for each in sex.mixed]
    near = any(abs(value - each) <= sex.band_c for value in celsius for each in thresholds)
    sides = {sum(value > each for each in thresholds) for value in celsius}
    if near or len(sides) > 1 or not thresholds:
        return "mixed sexes are to be expected"
    (above,) = sides
    if sex.warmer is None:
        where = "above" if above == len(thresholds) else "below" if above == 0 else "between"
        points = " and ".join(f"{each:g}" for each in thresholds)
        return f"one sex may prevail ({where} {points} °C), but the source as we read it does not say which"
    warm = (len(thresholds) - above) % 2 == 0
    other = "males" if sex.warmer == "females" else "females"
    return f"more {sex.warmer if warm else other} than the other sex may be expected"
