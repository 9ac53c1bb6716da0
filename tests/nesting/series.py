"""Hand-made half minutes of a stay: how strongly it stirs while it searches, digs, lays, covers, rests.

Strokes come in runs: an animal works for some minutes, pauses for some half minutes and works on; a quiet one
shifts its weight now and then. The strengths (log energy ratios) are about those measured on a rendered night
(quiet 2.7, digging 12 to 18, covering 15 to 17: ratios of 4 to 7, log 1.5 to 1.9) and down to half of that.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

STEP_S = 30.0
Part = tuple[str, float]
"""What it does and for how many minutes."""

# (share of working half minutes, usual length of a pause in half minutes)
_HABITS = {
    "search": (0.25, 4.0),
    "dig": (0.84, 2.0),
    "lay": (0.06, 12.0),
    "cover": (0.82, 2.0),
    "rest": (0.04, 20.0),
}


def stirred(parts: Sequence[Part], *, seed: int, strength: float = 1.2) -> NDArray[np.float32]:
    """(n,) log energy ratios of a stay of those parts."""
    rng = np.random.default_rng(seed)
    return np.concatenate([_part(what, minutes, strength, rng) for what, minutes in parts]).astype(np.float32)


def _part(what: str, minutes: float, strength: float, rng: np.random.Generator) -> NDArray[np.float64]:
    share, pause = _HABITS[what]
    working = rng.random() < share
    out = []
    for _ in range(round(minutes * 60 / STEP_S)):
        leave = 1 / pause if not working else (1 - share) / share / pause
        working = working != (rng.random() < leave)
        out.append(rng.normal(strength, 0.3) if working else rng.normal(0.0, 0.08))
    return np.array(out)


def split(total: float) -> list[Part]:
    """Digging, laying and covering of a nest of `total` minutes, of which only the whole was published.

    The shares (60, 15, 25 %) are an assumption between the watched nests that tell them apart.
    """
    return [("dig", 0.60 * total), ("lay", 0.15 * total), ("cover", 0.25 * total)]
