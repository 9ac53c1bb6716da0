"""What was wrong with a camera's picture during the night, and where and when its zone could be judged."""

from __future__ import annotations

from datetime import UTC, datetime

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.clarity import measure_clarity, patch_shape
from nestwatch.ground.health_motion import find_motion, is_lost
from nestwatch.ground.health_records import Bools, Finding, Health, What
from nestwatch.ground.health_spans import runs
from nestwatch.ground.health_view import View, conditions
from nestwatch.ground.records import Bins, Floats
from nestwatch.ground.still_shown import without_shown

_LEAST_S: dict[What, float] = {
    "dark": 120.0,
    "frozen": 120.0,
    "glare": 120.0,
    "lost": 300.0,
    "fogged": 480.0,
    "blurred": 480.0,
    "covered": 600.0,
}
"""Seconds below which something is weather, an animal passing or a hand before the lens."""
_MOSTLY_BURNT = 0.5
"""Share of a span in which part of the zone is hidden, from which on only what is burnt white hides it."""
_STRUCK_SHARE = 0.5
"""Of a patch hidden by something bright from which on it could not be judged."""


def examine(bins: Bins, zone: NDArray[np.bool_]) -> Health:
    """The health of a night. `zone`: bool (rows, columns) of the window, True in nesting zones; all False
    stands for the whole window."""
    weights = _weights(bins, zone)
    if not len(bins.times):
        return Health((), np.zeros((0, *weights.shape), np.bool_), weights, np.zeros(0, np.bool_))
    view = conditions(bins, measure_clarity(bins), weights)
    clear = ~(view.dark | view.frozen | view.fogged | view.blurred | view.glare)
    lost = is_lost(bins, clear, view.faint)
    blind = view.dark | view.frozen | lost
    view = without_shown(view, bins, weights)
    struck = _struck(bins, weights)
    found = [*find_motion(bins), *_spans(bins, view, lost, weights, struck)]
    findings = tuple(sorted(found, key=lambda finding: finding.start))
    seen = ~(view.hidden | struck | blind[:, None, None])
    return Health(findings, seen, weights, blind)


def _weights(bins: Bins, zone: NDArray[np.bool_]) -> Floats:
    """(rows, columns) of patches: share of each that is zone."""
    rows, columns = patch_shape(bins)
    if not zone.any():
        return np.ones((rows, columns), np.float32)
    area = zone.astype(np.float32)
    return np.asarray(cv2.resize(area, (columns, rows), interpolation=cv2.INTER_AREA), np.float32)


def _struck(bins: Bins, weights: Floats) -> Bools:
    """(n, rows, columns) patches hidden by something bright before the lens."""
    out = np.zeros((len(bins.times), *weights.shape), np.bool_)
    size = (weights.shape[1], weights.shape[0])
    if bins.glare is None:
        return out
    for k in np.flatnonzero(bins.glare.any(axis=(1, 2))):
        share = cv2.resize(bins.glare[k].astype(np.float32), size, interpolation=cv2.INTER_AREA)
        out[k] = share > _STRUCK_SHARE
    return out


def _spans(bins: Bins, view: View, lost: Bools, weights: Floats, struck: Bools) -> list[Finding]:
    """Every condition that lasted, as a finding."""
    whole = np.ones(len(bins.times), np.float64)
    faint = (view.faint | struck).reshape(len(whole), -1) @ weights.ravel() / float(weights.sum())
    burnt = (struck & (weights > 0)).any(axis=(1, 2))
    hidden = (view.covered | burnt) & ~view.frozen & ~lost
    held: list[tuple[What, Bools, NDArray[np.float64]]] = [
        ("dark", view.dark, whole),
        ("frozen", view.frozen, whole),
        ("glare", view.glare, whole),
        ("lost", lost, whole),
        ("fogged", view.fogged, whole),
        ("blurred", view.blurred, whole),
        ("covered", hidden, np.asarray(faint, np.float64)),
    ]

    out = []
    for what, holds, share in held:
        for a, b in runs(holds, bins, least_s=_LEAST_S[what]):
            only_burnt = what == "covered" and (burnt & ~view.covered)[a:b].mean() > _MOSTLY_BURNT
            start, end = _at(bins.times[a]), _at(bins.times[b - 1] + bins.step_s)
            out.append(Finding("burnt" if only_burnt else what, start, end, float(share[a:b].mean())))
    return out


def _at(posix: float) -> datetime:
    return datetime.fromtimestamp(float(posix), UTC)
