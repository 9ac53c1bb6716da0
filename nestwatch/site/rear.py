"""From where the rear edge of a shell is seen in the picture to the ground under it, with its radius.

A thing above the ground is seen too far out from the camera, and so might be the place that is pointed at,
which is told by the outline of the animal and by changed ground. How high it seems to lie was measured on
four invented building nights (docs/measuring.md): 0.01 shells on the average, with a spread of 0.08. So
hardly anything is taken off, and the spread goes into the radius. Real footage may well differ: finds that
keepers write down will tell.
"""

from __future__ import annotations

import math

from nestwatch.site.plan import PlanMap
from nestwatch.site.records import Animal, Point

SEEN_SHELLS = 0.01
SEEN_SIGMA_SHELLS = 0.08


def rear_on_plan(
    plan: PlanMap, pixel: Point, radius_px: float, animal: Animal
) -> tuple[Point | None, float | None]:
    """(metres on the plan, 90 % radius in metres) under a rear edge seen at `pixel` within `radius_px` (90
    %).

    None, None at or above the horizon. Where the marks do not tell where the camera stands, height is left
    out.
    """
    shell_m = sum(animal.shell_length_cm) / 200
    x, y = plan.below(pixel, SEEN_SHELLS * shell_m)
    if not (math.isfinite(x) and math.isfinite(y)):
        return None, None
    within = plan.within_m(pixel, radius_px, height_sigma_m=SEEN_SIGMA_SHELLS * shell_m)
    return (x, y), within if math.isfinite(within) else None
