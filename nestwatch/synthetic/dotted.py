"""Dotted keys such as `animal.0.contrast` into nested tables and lists of tables."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def with_key(data: Any, keys: list[str], value: object) -> Any:
    """A copy of nested `data` with the dotted key set; a list without an index is changed throughout."""
    if isinstance(data, list | tuple):
        if keys[0].isdigit():
            return [with_key(v, keys[1:], value) if i == int(keys[0]) else v for i, v in enumerate(data)]
        return [with_key(v, keys, value) for v in data]
    if not keys:
        return value
    rest = data.get(keys[0], {}) if len(keys) > 1 else None
    return {**data, keys[0]: with_key(rest, keys[1:], value) if len(keys) > 1 else value}


def flat(table: Mapping[str, Any], before: str = "") -> dict[str, Any]:
    """Nested tables as dotted keys; lists and plain values are values."""
    found: dict[str, Any] = {}
    for key, value in table.items():
        found |= flat(value, f"{before}{key}.") if isinstance(value, Mapping) else {f"{before}{key}": value}
    return found


def touches(a: str, b: str) -> bool:
    """Whether two dotted keys name the same value, or one a part of the other; indices do not count."""
    first, second = (f"{'.'.join(part for part in key.split('.') if not part.isdigit())}." for key in (a, b))
    return first.startswith(second) or second.startswith(first)
