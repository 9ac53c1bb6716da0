"""Names, time zones and file-name stamps: checks of single values that say what to do instead."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from datetime import datetime
from functools import cache
from zoneinfo import ZoneInfo, available_timezones

_FORBIDDEN = '/\\:*?"<>|'
# Device names that Windows refuses as file names.
_RESERVED = {"CON", "PRN", "AUX", "NUL"} | {f"{port}{n}" for port in ("COM", "LPT") for n in range(1, 10)}
_LONGEST = 60

_SAMPLE = datetime(2026, 11, 23, 21, 47, 35)  # noqa: DTZ001 - a camera's wall clock has no zone
_DIRECTIVES = set("YymdHIMSfjpbBz%")
_ENDINGS = {".mp4", ".mkv", ".avi", ".ts", ".mov", ".jpg", ".jpeg", ".png", ".m4v", ".mpg", ".mts"}


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that was probably meant, None where none is near."""
    by_fold = {name.casefold(): name for name in known}
    near = difflib.get_close_matches(word.casefold(), by_fold, n=1, cutoff=0.6)
    return by_fold[near[0]] if near else None


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """`; did you mean "x"?` or nothing."""
    near = nearest(word, known)
    return f'; did you mean "{near}"?' if near else ""


def check_name(value: str) -> str:
    """A name that can also be part of a file name on every system; raises `ValueError`."""
    bad = next((letter for letter in value if letter in _FORBIDDEN or not letter.isprintable()), None)
    if bad is not None:
        raise ValueError(
            f'"{value}" holds {bad!r}; names go into file names, so leave out / \\ : * ? " < > | '
            "(letters, digits, spaces, - and _ are safe)"
        )
    if value != value.strip(" .") or len(value) > _LONGEST:
        raise ValueError(
            f'"{value}" may not begin or end with a space or full stop, nor be longer than {_LONGEST} letters'
        )
    if value.split(".")[0].upper() in _RESERVED:
        raise ValueError(f'"{value}" is a name that Windows keeps for itself; choose another')
    return value


@cache
def _zones() -> tuple[str, ...]:
    return tuple(sorted(available_timezones()))


def check_timezone(value: str) -> str:
    """A known IANA time zone; raises `ValueError`."""
    if value in _zones():
        ZoneInfo(value)
        return value
    cities = {name.rsplit("/", 1)[-1]: name for name in _zones() if "/" in name}
    near = nearest(value, _zones()) or cities.get(nearest(value, cities) or "")
    hint = f'did you mean "{near}"?' if near else 'write it as continent and city, such as "Europe/Paris"'
    raise ValueError(f'"{value}" is not a known time zone; {hint}')


def check_stamp(value: str) -> str:
    """A strptime pattern that tells a recording's start to the minute; raises `ValueError`."""
    ending = re.search(r"\.\w+$", value)
    if ending and ending.group().lower() in _ENDINGS:
        raise ValueError(f'"{value}" must leave out the file\'s ending; drop "{ending.group()}"')
    if "/" in value or "\\" in value:
        raise ValueError(f'"{value}" is matched against the file\'s own name; leave folders out')
    unknown = next((d for d in re.findall(r"%(.?)", value) if d not in _DIRECTIVES), None)
    if unknown is not None:
        raise ValueError(
            f'"{value}" holds %{unknown}, which is not known; use %Y %m %d %H %M %S (docs/site-file.md)'
        )
    missing = _missing_parts(value)
    if missing:
        raise ValueError(
            f'"{value}" does not tell the {" and the ".join(missing)}; a start needs %Y %m %d %H %M'
        )
    _round_trip(value)
    return value


def _missing_parts(pattern: str) -> list[str]:
    """Which of year .. minute a pattern leaves open."""
    found = set(re.findall(r"%(.)", pattern))
    wanted = {
        "year": bool(found & set("Yy")),
        "month": bool(found & set("mbBj")),
        "day": bool(found & set("dj")),
        "hour": "H" in found or {"I", "p"} <= found,
        "minute": "M" in found,
    }
    return [part for part, told in wanted.items() if not told]


def _round_trip(pattern: str) -> None:
    """A name made by the pattern must be read back to the same minute."""
    plain = pattern.replace("*", "").replace("%z", "")  # `*` stands for any run of characters
    try:
        back = datetime.strptime(_SAMPLE.strftime(plain), plain)  # noqa: DTZ007
    except (ValueError, re.error):
        raise ValueError(
            f'"{pattern}" names a part twice or cannot be read back; use each of %Y %m %d %H %M once'
        ) from None
    if back.replace(second=0, microsecond=0) != _SAMPLE.replace(second=0, microsecond=0):
        raise ValueError(f'"{pattern}" cannot be read back; separate its parts by a letter or a dash')
