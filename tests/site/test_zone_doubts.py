"""Zones on the plan: how much lies outside the pen, by areas worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from nestwatch.site.lens import lens_of
from nestwatch.site.plan import fit_plan
from nestwatch.site.records import Pen, Zone
from nestwatch.site.zone_doubts import outside_share
from tests.site.cameras import PICTURE, RING, seen

PEN = Pen("sand pen", ((0.0, 0.0), (4.2, 0.0), (4.2, 3.0), (0.0, 3.0)), ())


@pytest.mark.parametrize(("left", "share"), [(1.0, 0.0), (3.2, 0.5), (3.7, 0.75), (5.0, 1.0)])
def test_share_of_a_zone_outside_the_pen(left: float, share: float) -> None:
    """A zone 2 m wide whose left edge lies at `left`; the pen ends at 4.2 m."""
    corners = np.array([[left, 1.0], [left + 2, 1.0], [left + 2, 2.0], [left, 2.0]])
    outline = tuple((float(x), float(y)) for x, y in seen(corners))
    found = fit_plan(RING, seen(RING), lens=lens_of(PICTURE), posts=np.eye(16) * 1e-4)
    assert outside_share(found, Zone("sand", "nesting", outline), PEN) == pytest.approx(share, abs=1e-3)


def test_a_zone_in_the_sky_has_no_share() -> None:
    sky = Zone("sky", "nesting", ((100.0, -400.0), (200.0, -400.0), (200.0, -300.0)))
    found = fit_plan(RING, seen(RING), lens=lens_of(PICTURE), posts=np.eye(16) * 1e-4)
    assert np.isnan(outside_share(found, sky, PEN))
