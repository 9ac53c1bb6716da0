"""Zones as areas of the picture: masks, and which side of an outline a point lies on.

Pixel (row r, column c) of a picture covers x in [c, c + 1) and y in [r, r + 1); its centre is at +0.5.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from nestwatch.site.records import Point, Zone


def zone_mask(zones: Sequence[Zone], picture: tuple[int, int], size: tuple[int, int]) -> NDArray[np.bool_]:
    """Which pixels of a picture of `size` lie in any of the zones.

    `picture` and `size` are (width, height): of the picture the outlines were drawn on, and of the mask.
    Returns bool of shape (rows, columns): True where a pixel's centre lies in a zone, else False.
    """
    x = (np.arange(size[0]) + 0.5) * (picture[0] / size[0])
    y = (np.arange(size[1]) + 0.5) * (picture[1] / size[1])
    area = shapely.union_all([_area(zone) for zone in zones])
    shapely.prepare(area)
    return np.asarray(shapely.contains_xy(area, x[np.newaxis, :], y[:, np.newaxis]), dtype=np.bool_)


def inside(zone: Zone, point: Point) -> bool:
    """Whether a picture point `(x, y)` lies in the zone; its edge counts as inside."""
    return bool(shapely.intersects_xy(_area(zone), *point))


def edge_distance(zone: Zone, point: Point) -> float:
    """Pixels from a picture point `(x, y)` to the zone's edge: positive inside, negative outside."""
    area = _area(zone)
    distance = float(shapely.distance(shapely.boundary(area), shapely.Point(point)))
    return distance if shapely.intersects_xy(area, *point) else -distance


def _area(zone: Zone) -> shapely.Polygon:
    return shapely.Polygon(zone.outline)
