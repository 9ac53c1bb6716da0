"""Disturbances of a night, one kind a class; see `base` for how to add one."""

from nestwatch.synthetic.nuisances import (
    creatures,
    dew,
    faults,
    fog,
    gain,
    glass,
    insects,
    lamp,
    moved,
    shadow,
    sitters,
    weather,
    web,
)
from nestwatch.synthetic.nuisances.base import Nuisance, Plan, kinds, make_nuisances, make_plans

__all__ = [
    "Nuisance",
    "Plan",
    "creatures",
    "dew",
    "faults",
    "fog",
    "gain",
    "glass",
    "insects",
    "kinds",
    "lamp",
    "make_nuisances",
    "make_plans",
    "moved",
    "shadow",
    "sitters",
    "weather",
    "web",
]
