"""File name -> the camera's wall clock, by the site file's `stamp` pattern; and a guess at that pattern.

A pattern is `datetime.strptime`'s, matched against the stem (the name without its ending). One thing is
added: `*` stands for any run of characters, so that a counter or a second stamp in the name does no harm.
"""

from __future__ import annotations

import re
from datetime import datetime

_DIGITS = {"Y": r"\d{4}", "y": r"\d{2}", "m": r"\d{1,2}", "d": r"\d{1,2}", "H": r"\d{1,2}", "I": r"\d{1,2}"}
_FIELDS = _DIGITS | {
    "M": r"\d{1,2}",
    "S": r"\d{1,2}",
    "f": r"\d{1,6}",
    "j": r"\d{1,3}",
    "p": r"[AaPp]\.?[Mm]\.?",
    "b": r"[^\W\d_]+",
    "B": r"[^\W\d_]+",
    "z": r"Z|[+-]\d\d:?\d\d",
}
_JOIN = "\x1f"  # never part of a file name


def read_stamp(stem: str, pattern: str) -> datetime | None:
    """The wall-clock time in `stem`, naive unless the pattern holds %z; None where it does not match."""
    try:
        # A wall clock is naive by nature: its zone is the camera's, see clocks.py.
        return datetime.strptime(stem, pattern) if "*" not in pattern else _read_loosely(stem, pattern)  # noqa: DTZ007
    except ValueError:
        return None


def _read_loosely(stem: str, pattern: str) -> datetime | None:
    fields: list[str] = []

    def one(match: re.Match[str]) -> str:
        token = match.group()
        if token == "*":
            return ".*?"
        if token[0] != "%" or len(token) < 2 or token[1] not in _FIELDS:
            return re.escape("%" if token == "%%" else token)
        fields.append(token)
        # With `*` beside a field a lone digit could be taken for two: fields are full width here.
        return f"({_FIELDS[token[1]].replace('{1,2}', '{2}')})"

    expression = re.sub(r"%.|\*|[^%*]+", one, pattern, flags=re.DOTALL)
    found = re.fullmatch(expression, stem, flags=re.DOTALL)
    if found is None:
        return None
    return datetime.strptime(_JOIN.join(found.groups()), _JOIN.join(fields))  # noqa: DTZ007


_YEAR = r"(?P<Y>(?:19|20)\d\d)"
_MONTH, _DAY = r"(?P<m>0[1-9]|1[0-2])", r"(?P<d>0[1-9]|[12]\d|3[01])"
_HOUR_MINUTE = r"(?P<H>[01]\d|2[0-3])(?P<t>[-_.:h ]?)(?P<M>[0-5]\d)"
_TIME = _HOUR_MINUTE + r"(?:(?P=t)|(?<=h\d\d)m)(?P<S>[0-5]\d)"
_SHAPES = (
    rf"{_YEAR}(?P<s>[-_. ]?){_MONTH}(?P=s){_DAY}(?P<x>[^\d]{{0,4}}){_TIME}",
    rf"{_DAY}(?P<s>[-_. ]?){_MONTH}(?P=s){_YEAR}(?P<x>[^\d]{{0,4}}){_TIME}",
    rf"(?P<y>\d\d)(?P<s>[-_. ]?){_MONTH}(?P=s){_DAY}(?P<x>[^\d]{{0,4}}){_TIME}",
    rf"{_YEAR}(?P<s>[-_. ]?){_MONTH}(?P=s){_DAY}(?P<x>[^\d]{{0,4}}){_HOUR_MINUTE}",
)


def propose_stamp(stem: str) -> str | None:
    """A pattern that reads `stem`, derived from the digits in it; None where they tell no date and time.

    Year first is tried before day first. Digits outside the stamp become `*`, since a counter changes from
    file to file. What it returns always reads `stem`.
    """
    for shape in _SHAPES:
        found = re.search(rf"(?<!\d){shape}(?!\d)", stem) or re.search(shape, stem)
        pattern = found and _pattern_of(stem, found)
        if pattern and read_stamp(stem, pattern) is not None:
            return pattern
    return None


def _pattern_of(stem: str, found: re.Match[str]) -> str:
    marks = sorted(
        (found.span(name), name) for name in found.groupdict() if name in "YymdHMS" and found[name]
    )
    inner, at = "", found.start()
    for (start, end), name in marks:
        inner += _literal(stem[at:start]) + f"%{name}"
        at = end
    before, after = stem[: found.start()], stem[found.end() :]
    return _loose(before) + inner + _loose(after)


def _literal(text: str) -> str:
    return text.replace("%", "%%")


def _loose(text: str) -> str:
    return re.sub(r"\d+", "*", _literal(text))


def natural_key(name: str) -> list[tuple[int, int, str]]:
    """Sort key under which `clip9` comes before `clip10`: the order in which a recorder numbers its files."""
    parts = re.findall(r"\d+|\D+", name)
    return [(0, int(part), "") if part.isdigit() else (1, 0, part) for part in parts]
