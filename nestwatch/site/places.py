"""Where in the site file something stands: in a keeper's words, and as a line number."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

Path = tuple[str | int, ...]
"""Keys and positions from the top of the file to a value, as pydantic gives them."""

_HEADER = re.compile(r"\s*\[(\[?)\s*([\w\"' .-]+?)\s*\](\]?)\s*(#.*)?")
_KEY = re.compile(r"\s*([\w-]+|\"[^\"]+\"|'[^']+')\s*=")


_TABLES = {"site", "animal", "notify"}
_INNER = {("notify", "mail")}


def in_words(path: Path, data: Mapping[str, Any]) -> str:
    """`camera "sandbank", zone "sand bank", outline, corner 3`; `[site] timezone`."""
    if not path:
        return "top level"
    if path[0] in _TABLES:
        table = 2 if path[:2] in _INNER else 1
        inside = path[table:]
        rest = f" {', '.join(_steps(inside, {}))}" if inside else ""
        return f"[{'.'.join(map(str, path[:table]))}]{rest}"
    if len(path) == 1:
        return f"[[{path[0]}]]" if path[0] in {"camera", "pen"} else str(path[0])
    return ", ".join(_steps(path, data))


def _steps(path: Path, data: Any) -> Iterator[str]:
    """Each step of a path in words; a number after a list of tables becomes that table's name."""
    inside = data
    for step, following in zip(path, (*path[1:], None), strict=True):
        inside = _child(inside, step)
        if isinstance(step, int):
            continue
        if isinstance(following, int):
            yield _numbered(step, following, _child(inside, following))
        else:
            yield str(step)


def _numbered(step: str, number: int, entry: Any) -> str:
    if step in {"outline"}:
        return f"{step}, corner {number + 1}"
    if step in {"tape", "square"}:
        return f"{step} {number + 1}"
    if step not in {"camera", "pen", "zone", "mark", "post"}:
        return f"{step}, value {number + 1}"
    name = _child(entry, "post" if step == "mark" else "name")
    return f'{step} "{name}"' if isinstance(name, str) and name else f"{step} {number + 1}"


def _child(inside: Any, step: str | int) -> Any:
    try:
        return inside[step]
    except (KeyError, IndexError, TypeError):
        return None


def line_of(path: Path, text: str) -> int | None:
    """The line (from 1) of a value, or of the nearest thing around it that is found; None if nothing is."""
    lines = _lines(text)
    for length in range(len(path), 0, -1):
        # A list of tables is where its first table is.
        for place in (path[:length], (*path[:length], 0)):
            if place in lines:
                return lines[place]
    return None


def _lines(text: str) -> dict[Path, int]:
    """Line of every table header and every key written at the beginning of a line."""
    found: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    table: Path = ()
    for number, line in enumerate(text.splitlines(), 1):
        if header := _HEADER.fullmatch(line):
            keys = [key.strip().strip("\"'") for key in header[2].split(".")]
            table = _table(keys, bool(header[1]), counts)
            found.setdefault(table, number)
        elif key := _KEY.match(line):
            found.setdefault((*table, key[1].strip("\"'")), number)
    return found


def _table(keys: list[str], many: bool, counts: dict[Path, int]) -> Path:
    """The path of a header: lists of tables on the way mean their latest entry."""
    path: Path = ()
    for step in keys[:-1]:
        path = (*path, step)
        if path in counts:
            path = (*path, counts[path])
    path = (*path, keys[-1])
    if not many:
        return path
    counts[path] = counts.get(path, -1) + 1
    return (*path, counts[path])
