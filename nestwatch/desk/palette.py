"""Colours of the local pages, light and dark: those of the night page, and a few that only a tool needs.

Every pair that occurs is held to WCAG AA by a test. Nothing is told by colour alone: kinds of zone differ by
the line's pattern, classes of radius by lightness and by words.
"""

from __future__ import annotations

from collections.abc import Mapping

from nestwatch.report import palette as report

LIGHT: Mapping[str, str] = {
    **report.LIGHT,
    "act": "#1f4d3a",
    "act-ink": "#ffffff",
    "field": "#ffffff",
    "wrong": "#7d2415",
    "wrong-ground": "#fbe9e2",
    "shade-1": "#dbe7f3",
    "shade-2": "#a9c4dd",
    "shade-3": "#6b94b8",
    "shade-4": "#2f5f86",
}
DARK: Mapping[str, str] = {
    **report.DARK,
    "act": "#a9d6bd",
    "act-ink": "#10221a",
    "field": "#151816",
    "wrong": "#ffc2b0",
    "wrong-ground": "#43251d",
    "shade-1": "#22313d",
    "shade-2": "#37536b",
    "shade-3": "#5c86a8",
    "shade-4": "#9cc3e2",
}
# On the picture, the same by day and by night; always with a dark casing. After Okabe & Ito's colour-blind
# safe set (jfly.uni-koeln.de/color; from memory), lightened for infrared pictures.
PICTURE: Mapping[str, str] = {
    "casing": "#101010",
    "nesting": "#ffd447",
    "water": "#7cc8f8",
    "ignore": "#f4f4f4",
    "mark": "#ffffff",
    "wrong-line": "#ffb59e",
}

TEXT_PAIRS = (
    *report.TEXT_PAIRS,
    ("act-ink", "act"),
    ("act", "ground"),
    ("act", "sheet"),
    ("ink", "field"),
    ("wrong", "sheet"),
    ("wrong", "ground"),
    ("wrong", "wrong-ground"),
    ("ink", "wrong-ground"),
    ("ink", "shade-1"),
)
MARK_PAIRS = (*report.MARK_PAIRS, ("rule", "field"), ("act", "field"), ("ink", "shade-3"))
