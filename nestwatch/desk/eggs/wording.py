"""Messages name options of the commands; a page has fields and buttons instead. Pure."""

from __future__ import annotations

import re

FIELDS = {
    "order": "Order of day and month",
    "unit": "Unit",
    "decimal": "Decimal mark",
    "clock": "The logger's clock",
    "column": "Temperature column",
    "humidity-column": "Humidity column",
}
"""What the page calls that which an option settles about a logger's file."""
CHOICES: dict[str, dict[str, str]] = {
    "order": {"day-first": "day first", "month-first": "month first", "year-first": "year first"},
    "unit": {"c": "°C", "f": "°F"},
    "decimal": {"point": "point", "comma": "comma"},
}
"""What can be answered where there are few answers."""
_NAMES = "|".join(sorted(FIELDS, key=len, reverse=True))
_ASKED = re.compile(rf"--({_NAMES})\b")
_ANSWER = re.compile(rf"--({_NAMES}) ([\w-]+|[+-]\d\d:\d\d)(?=[\s.,;)]|$)")
_COUNTS = re.compile(r"--(alive|dead-in-shell|infertile|lost)\b")
_ASIDE = re.compile(r" \(--[^)]*\)")


def on_page(words: str) -> str:
    """A command's message with the page's own fields for its options."""
    told = _ASIDE.sub("", words).replace("add --sure", "say so with the button below")
    told = _COUNTS.sub(r"\1", _ANSWER.sub(_answer, told))
    return _ASKED.sub(lambda found: f"“{FIELDS[found[1]]}”", told)


def asked(words: str) -> str | None:
    """What a message about a file asks for, as the option's name; None where it asks for nothing."""
    found = _ASKED.search(words)
    return None if found is None else found[1]


def _answer(found: re.Match[str]) -> str:
    """An option with its value, as the page says it; words that are no value stay behind the field."""
    option, value = found[1], found[2]
    if option in CHOICES:
        known = CHOICES[option].get(value)
        return found[0] if known is None else f"decimal {known}" if option == "decimal" else known
    if option == "clock" and (value in {"local", "utc"} or value[0] in "+-"):
        return value
    return found[0]
