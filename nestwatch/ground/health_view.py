"""How much of the night's own structure each half minute still shows, and what hides the rest.

Everything is held against the camera's own night: the upper quartile of the same light spell, so that an hour
of fog is found in a night of ten. Contrast that is lost with the light itself (dusk, wet soil) is not held
against the lens: it is divided by how much darker the patch is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter

from nestwatch.ground.clarity import Clarity
from nestwatch.ground.glare import WHITE
from nestwatch.ground.health_records import Bools
from nestwatch.ground.records import Bins, Floats

_BLACK = 16.0  # of limited-range video, ITU-R BT.709
_USUAL = 75
_LEAST_POWER = 0.04
_DIMMEST = 0.2
FADED = 0.45
"""What is left of the usual contrast below which a patch is faint."""
_HAZY = 0.65
_SOFTER = 0.6
_DARK_SHOWS, _DARK_LIGHT = 0.15, 0.5
_NOISY_SHOWS, _NOISY = 0.3, 4.0
_BLACK_LEVEL, _FLAT_POWER = 4.0, 0.25
_HIDDEN_BROAD, _HIDDEN_FINE = 0.3, 0.2
_COVERED_SHARE = 0.06
_GLARE_SHARE = 0.3
_STILL_ENERGY, _STILL_SHARE = 0.02, 0.9
_USUAL_SHARE, _ALWAYS_SHARE = 0.3, 0.98
_LEAST_CLEAR = 0.1
_REPEATED_SHARE, _REPEATED_ENERGY, _REPEATED_LIGHT = 0.1, 0.3, 0.8


@dataclass(frozen=True, slots=True)
class View:
    """Conditions of every bin, (n,) bool, and of every patch, (n, rows, columns).

    `faint`: patch whose fine or broad structure is weak. `hidden`: patch in which nothing could be judged.
    """

    dark: Bools
    frozen: Bools
    glare: Bools
    fogged: Bools
    blurred: Bools
    covered: Bools
    faint: Bools
    hidden: Bools


def conditions(bins: Bins, clarity: Clarity, weights: Floats) -> View:
    """What each bin suffers from, in the part of the window where `weights` (rows, columns) is above 0."""
    light, fine, broad = _against_usual(bins, clarity)
    zone = _zone(weights)
    typical_fine, typical_broad = _median(fine, zone), _median(broad, zone)
    energy = np.asarray(np.median(_cells(bins), axis=1), np.float32)
    noisier = np.asarray(energy / np.maximum(_usual_by_spell(bins, energy), 1e-3), np.float32)
    white = clarity.level > WHITE
    glare = _share(white, weights, zone) > _GLARE_SHARE
    dark = ~glare & _dark(bins, clarity, zone, _median(light, zone), noisier)
    plain = ~dark & ~glare
    # A veil weakens all detail alike, a blur the finest most.
    blurred = plain & (typical_fine < FADED) & (typical_fine < _SOFTER * typical_broad)
    fogged = plain & ~blurred & (np.fmax(typical_fine, typical_broad) < _HAZY)
    faint = np.fmin(fine, broad) < FADED
    frozen = ~dark & ~glare & _frozen(bins, _median(light, zone), energy)
    return View(
        dark=dark,
        frozen=frozen,
        glare=glare,
        fogged=fogged,
        blurred=blurred,
        covered=plain & ~fogged & ~blurred & partly(faint, weights),
        faint=faint,
        hidden=white | (broad < _HIDDEN_BROAD) | (fine < _HIDDEN_FINE),
    )


def partly(faint: Bools, weights: Floats) -> Bools:
    """(n,) whether enough of the zone is faint to be hidden by something. `faint`: (n, rows, columns)."""
    return np.asarray(_share(faint, weights, _zone(weights)) > _COVERED_SHARE, np.bool_)


def _zone(weights: Floats) -> Bools:
    return np.asarray(weights > 0 if weights.any() else np.ones(weights.shape, np.bool_), np.bool_)


def _against_usual(bins: Bins, clarity: Clarity) -> tuple[Floats, Floats, Floats]:
    """(light, fine, broad): each over its usual value, 1 as usual, all (n, rows, columns).

    `light` is the level above black; `fine` and `broad` are contrasts with the loss of light taken out.
    """
    out = np.ones((3, *clarity.level.shape), np.float32)
    for spell in np.unique(bins.spell):
        members = np.flatnonzero(bins.spell == spell)
        lit = np.maximum(clarity.level[members] - _BLACK, 0.0)
        usual = _unspoilt(bins, members)
        light = lit / np.maximum(np.percentile(lit[usual], _USUAL, axis=0), 1.0)
        fine, broad = (_contrast(power[members], usual) for power in (clarity.fine, clarity.broad))
        out[:, members] = light, fine, broad
    light, fine, broad = (_median_of_three(values) for values in out)
    dimmed = np.clip(light, _DIMMEST, 1.0)
    return light, fine / dimmed, broad / dimmed


def _unspoilt(bins: Bins, members: NDArray[np.int64]) -> Bools:
    """(members,) True where a bin may tell what is usual: a web that hangs there for hours lends the picture
    a structure of its own, which bins without it must not be held against."""
    if bins.glare is None:
        return np.ones(len(members), np.bool_)
    clear = np.asarray(~bins.glare[members].any(axis=(1, 2)), np.bool_)
    return clear if clear.mean() > _LEAST_CLEAR else np.ones(len(members), np.bool_)


def _median_of_three(values: Floats) -> Floats:
    """Each bin's median with its neighbours along the first axis: a passing hand or moth is gone."""
    before, after = np.concatenate([values[:1], values[:-1]]), np.concatenate([values[1:], values[-1:]])
    low, high = np.minimum(before, values), np.maximum(before, values)
    return np.asarray(np.maximum(low, np.minimum(high, after)), np.float32)


def _contrast(power: Floats, usual_in: Bools) -> Floats:
    """Amplitude of detail over its upper quartile, in neighbourhoods of three patches: one animal or one
    shrub does not fill them. Where the ground is flat, that of the whole window; 1 where unknown. `usual_in`:
    the bins that tell what is usual."""
    known = ~np.isnan(power)
    if not known.any():
        return np.ones_like(power)
    told = power[usual_in] if known[usual_in].any() else power
    usual = np.maximum(np.nanpercentile(told, _USUAL, axis=0), 0.0)
    # Without a cap a few bright stones would speak for the whole neighbourhood.
    cap = np.maximum(3.0 * np.median(usual), _LEAST_POWER)
    scale = np.minimum(1.0, cap / np.maximum(usual, 1e-6))
    now = np.where(known, np.maximum(power, 0.0), usual) * scale
    around, least = uniform_filter(usual * scale, 3, mode="nearest"), _LEAST_POWER
    local = uniform_filter(now, (0, 3, 3), mode="nearest") / np.maximum(around, 1e-6)
    whole = now.mean(axis=(1, 2)) / max(float((usual * scale).mean()), 1e-6)
    ratio = np.where(around > least, local, whole[:, None, None])
    return np.asarray(np.sqrt(np.maximum(ratio, 0.0)), np.float32)


def _median(values: Floats, zone: Bools) -> Floats:
    """(n,) median over the patches of the zone."""
    return np.asarray(np.median(values[:, zone], axis=1), np.float32)


def _share(holds: Bools, weights: Floats, zone: Bools) -> Floats:
    """(n,) share of the zone in which something holds."""
    weight = weights[zone] if weights.any() else np.ones(int(zone.sum()), np.float32)
    return np.asarray(holds[:, zone] @ weight / max(float(weight.sum()), 1e-6), np.float32)


def _dark(bins: Bins, clarity: Clarity, zone: Bools, light: Floats, noisier: Floats) -> Bools:
    """No structure left, and less light or much more noise than usual; or black from the first to the last.

    `noisier`: (n,) difference of successive frames over its usual value.
    """
    shown = np.nan_to_num(clarity.broad[:, zone], nan=np.inf).mean(axis=1)
    left = shown / np.maximum(_usual_by_spell(bins, shown, per_cent=_USUAL), _LEAST_POWER)
    dimmed = (left < _DARK_SHOWS**2) & (light < _DARK_LIGHT)
    noise = (left < _NOISY_SHOWS**2) & (noisier > _NOISY)
    black = (_median(clarity.level, zone) < _BLACK + _BLACK_LEVEL) & ~(shown > _FLAT_POWER)
    return np.asarray(dimmed | noise | black, np.bool_)


def _frozen(bins: Bins, light: Floats, energy: Floats) -> Bools:
    """Successive frames alike as no sensor gives them.

    A camera that keeps its bit rate codes one and the same picture a little differently each time, so there
    much less than the usual difference is enough. A stream that codes a calm night to no difference at all
    repeats frames for hours while it works: there stillness tells nothing.
    """
    cells = _cells(bins)
    still = np.mean(cells < _STILL_ENERGY, axis=1)  # NaN counts as not still
    calm = energy < _REPEATED_ENERGY * _usual_by_spell(bins, energy, per_cent=25)
    repeated = (still > _REPEATED_SHARE) & calm & (light > _REPEATED_LIGHT)
    repeats = still > _STILL_SHARE
    return np.asarray((repeats & ~_often(bins, repeats)) | repeated, np.bool_)


def _often(bins: Bins, holds: Bools) -> Bools:
    """(n,) whether something holds so often in the bin's light spell that it is usual there, though not
    always."""
    out = np.zeros(len(holds), np.bool_)
    for spell in np.unique(bins.spell):
        members = bins.spell == spell
        out[members] = _USUAL_SHARE < holds[members].mean() < _ALWAYS_SHARE
    return out


def _cells(bins: Bins) -> Floats:
    """(n, cells) a quarter of the energy cells, evenly spread; NaN for bins without a pair of frames."""
    return bins.energy[:, ::2, ::2].reshape(len(bins.times), -1)


def _usual_by_spell(bins: Bins, values: Floats, *, per_cent: float = 50) -> Floats:
    """(n,) a percentile of the values of the same light spell; NaN where none is known."""
    out = np.full(len(values), np.nan, np.float32)
    for spell in np.unique(bins.spell):
        members = bins.spell == spell
        known = values[members & np.isfinite(values)]
        if known.size:
            out[members] = np.percentile(known, per_cent)
    return out
