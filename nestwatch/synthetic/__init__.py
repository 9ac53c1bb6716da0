"""Invented nights with known truth: scenarios in, recordings and `truth.json` out (see docs/synthetic.md).

Shares no code and no constants with the folders that look for digs.
"""

from nestwatch.synthetic.render import render_night
from nestwatch.synthetic.scenario import Scenario, load_scenario

__all__ = ["Scenario", "load_scenario", "render_night"]
