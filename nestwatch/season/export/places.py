"""Where the site is, as others are told: rounded, with an honest radius. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

ROUNDED_TO = 0.1
"""Degrees, about 11 km north to south: nobody finds a pen by it."""
SITE_M = 100.0
"""Cameras and pens of a site are taken to lie so near the place in the site file (an assumption)."""
_FINEST = 7

# WGS 84: semi-major axis in metres, and first eccentricity squared.
_A = 6378137.0
_E2 = 6.69437999014e-3


@dataclass(frozen=True, slots=True)
class SharedPlace:
    """Degrees, WGS 84. `within_m`: radius that holds every camera. `precision`: step of the degrees.

    `half`: half the side of the square, in degrees, in which the site's own place lies.
    """

    latitude: float
    longitude: float
    within_m: int
    precision: float
    half: float


def shared_place(latitude: float, longitude: float, *, exact: bool) -> SharedPlace:
    """The site's place as it is passed on: rounded to 0.1 degree, or with `exact` as the site file has it.

    How precise the site file is shows in its decimals, the longer of the two, as in `coordImprecision` of the
    R package enmSdmX; a place written with few decimals stays as uncertain as that.
    """
    step = 10.0 ** -max(_decimals(latitude), _decimals(longitude))
    if exact or step >= ROUNDED_TO:
        return _place(latitude, longitude, step, step / 2)
    rounded = (_rounded(latitude), _rounded(longitude))
    return _place(*rounded, ROUNDED_TO, (ROUNDED_TO + step) / 2)


def metres_per_degree(latitude: float) -> tuple[float, float]:
    """(north to south, east to west) metres of one degree at a latitude on the WGS 84 ellipsoid.

    From its radii of curvature in the meridian and the prime vertical.
    """
    sine = math.sin(math.radians(latitude))
    flat = 1 - _E2 * sine**2
    meridian, vertical = _A * (1 - _E2) / flat**1.5, _A / flat**0.5
    degree = math.pi / 180
    return degree * meridian, degree * vertical * math.cos(math.radians(latitude))


def _place(latitude: float, longitude: float, step: float, half: float) -> SharedPlace:
    # Degrees are longest east to west on the side nearest the equator, north to south on the other.
    near, far = max(abs(latitude) - half, 0.0), min(abs(latitude) + half, 90.0)
    north, east = metres_per_degree(far)[0], metres_per_degree(near)[1]
    within = math.ceil(math.hypot(half * north, half * east) + SITE_M)
    return SharedPlace(latitude, longitude, within, step, half)


def _rounded(degrees: float) -> float:
    return round(degrees, 1) + 0.0  # no minus zero


def _decimals(degrees: float) -> int:
    """Decimals with which a number was written; closing zeros cannot be seen."""
    exponent = Decimal(repr(degrees)).normalize().as_tuple().exponent
    return min(max(-int(exponent), 0), _FINEST)
