"""What the keeper tells us: pens, cameras, zones, the animal; when a night is; the picture on the plan.

load_site(path)              the site file -> Site, or one clear line on what to mend
night_hours(site, date)      a night as instants, with sunset and sunrise
plan_map(site, camera)       picture <-> plan, from the camera's marks
zone_mask(zones, ...)        zones as a mask over the picture
"""

from __future__ import annotations

from nestwatch.site.checks import site_notes
from nestwatch.site.file import load_site
from nestwatch.site.hours import last_night, night_hours
from nestwatch.site.plan import PlanMap, plan_map
from nestwatch.site.sun import sun_times
from nestwatch.site.zones import edge_distance, inside, zone_mask

__all__ = [
    "PlanMap",
    "edge_distance",
    "inside",
    "last_night",
    "load_site",
    "night_hours",
    "plan_map",
    "site_notes",
    "sun_times",
    "zone_mask",
]
