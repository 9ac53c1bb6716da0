"""Disturbances of a night, one kind a file; see `base` for how to add one."""

from nestwatch.synthetic.nuisances.base import Nuisance, Plan, kinds, make_nuisances, make_plans

__all__ = ["Nuisance", "Plan", "kinds", "make_nuisances", "make_plans"]
