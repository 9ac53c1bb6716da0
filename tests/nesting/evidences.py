"""Evidence of an ordinary nest, to be changed in what a test is about."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from nestwatch.nesting.evidence import Evidence

_NEST: dict[str, Any] = {
    "minutes": 124.0, "stirred_min": 92.0, "dig_min": 68.0, "lay_min": 22.0, "cover_min": 30.0,
    "dig_over_rest": 80.0, "nest_over_trial": 12.0, "strength": 1.2, "limbs": 1.2, "best_burst": 1.6,
    "rhythm": 2.5, "ground": 0.3, "looks": 0.7, "length_ratio": 1.0, "in_hours": True, "unseen_min": 0.0,
    "company": 0.0, "hidden": 0.5, "weather": 0.0, "start_seen": True, "end_seen": True, "wide": False,
    "fogged_min": 0.0, "glared": 0.0,
}  # fmt: skip


def evidence(**changes: Any) -> Evidence:
    """A completed nest of 2 h 04 min in nesting hours, seen from both sides, but for `changes`."""
    known = {field.name for field in fields(Evidence)}
    assert changes.keys() <= known
    return Evidence(**{key: value for key, value in {**_NEST, **changes}.items() if key in known})


TRIAL = {"dig_min": 0.0, "lay_min": 0.0, "cover_min": 0.0, "nest_over_trial": -3.0, "ground": 0.01}
REST = {
    "stirred_min": 4.0, "dig_over_rest": 0.5, "nest_over_trial": -2.0, "strength": 0.3, "limbs": 0.0,
    "best_burst": 0.2, "rhythm": 1.2, "ground": 0.0, "dig_min": 0.0, "lay_min": 0.0, "cover_min": 0.0,
}  # fmt: skip
