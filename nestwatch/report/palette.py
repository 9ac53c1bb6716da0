"""The page's colours, light and dark. Every pair of text and ground below is held to WCAG AA by a test.

Nothing is told by colour alone: stages differ by pattern, calls and gaps are in words.
"""

from __future__ import annotations

from collections.abc import Mapping

# ground: the page; sheet: a dig's card; loud/quiet: the headline when something was or was not missed.
LIGHT: Mapping[str, str] = {
    "ground": "#faf8f3",
    "sheet": "#ffffff",
    "ink": "#1c211e",
    "faded": "#525a54",
    "rule": "#8b8f86",
    "link": "#1d4e79",
    "loud": "#ffe08a",
    "loud-ink": "#2b1f00",
    "quiet": "#e4eee2",
    "quiet-ink": "#1d2b20",
    "bar": "#5b6f63",
}
DARK: Mapping[str, str] = {
    "ground": "#151816",
    "sheet": "#1e2320",
    "ink": "#ece9e0",
    "faded": "#b3b9b1",
    "rule": "#7d857e",
    "link": "#9cc7ee",
    "loud": "#ffd25e",
    "loud-ink": "#241a00",
    "quiet": "#2b3a2f",
    "quiet-ink": "#e6efe4",
    "bar": "#9db3a4",
}

# (text, ground) pairs that occur on the page: at least 4.5 : 1.
TEXT_PAIRS = (
    ("ink", "ground"),
    ("ink", "sheet"),
    ("faded", "ground"),
    ("faded", "sheet"),
    ("link", "ground"),
    ("link", "sheet"),
    ("loud-ink", "loud"),
    ("quiet-ink", "quiet"),
)
# Marks and rules that carry meaning: at least 3 : 1.
MARK_PAIRS = (("rule", "ground"), ("rule", "sheet"), ("bar", "ground"), ("bar", "sheet"))
