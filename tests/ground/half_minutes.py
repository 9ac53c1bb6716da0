"""Half minutes without pictures in them, for what looks at times, lights and energies only."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from nestwatch.ground.records import CELL, Bins, Floats, Grid

STEP_S = 30.0
START = 1.78e9


def half_minutes(
    steps: NDArray[np.int64],
    grid: Grid,
    *,
    energy: Floats | None = None,
    spell: NDArray[np.int16] | None = None,
) -> Bins:
    """Bins that begin `steps` half minutes into a night. `energy` (n, cells): 0 where it does not matter."""
    size, flat = len(steps), np.zeros(len(steps), np.float32)
    still = np.zeros((size, grid.rows // CELL, grid.columns // CELL), np.float32)
    return Bins(
        grid=grid,
        step_s=STEP_S,
        times=START + STEP_S * steps.astype(np.float64),
        shown_s=flat + np.float32(STEP_S),
        frames=np.zeros(size, np.int16),
        median=np.zeros((size, 8, 8), np.uint8),
        energy=still if energy is None else energy,
        chroma=flat,
        level=flat,
        spell=np.zeros(size, np.int16) if spell is None else spell,
        shift=np.zeros((size, 3), np.float32),
        likeness=flat,
    )
