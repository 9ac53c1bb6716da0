"""Zones and marks put into the site file's text by tomlkit: all else, comments and order, stays as it was."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import tomlkit
from tomlkit.items import Array

from nestwatch.errors import SiteError
from nestwatch.site.blocks import Block, join_blocks, split_blocks, trailing_remarks
from nestwatch.site.drawing import Drawing

Values = dict[str, Any]


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A table as it should be; `was` names the one in the file that it comes from, None for a new one."""

    was: str | None
    values: Values


def redrawn(text: str, drawings: Mapping[str, Drawing]) -> str:
    """The site file's `text` with the zones and marks of some cameras (by name) as drawn.

    Tables that did not change keep every letter; changed ones keep their comments, new ones follow the last
    of their kind. Raises `SiteError` where the outcome would not read as meant (nothing is lost then).
    """
    data = tomllib.loads(text)
    plain = text.replace("\r\n", "\n")
    blocks = split_blocks(plain if plain.endswith("\n") or not plain else plain + "\n")
    names = [camera["name"] for camera in data["camera"]]
    for name, drawing in drawings.items():
        number = names.index(name)
        for key, naming, wanted in (("zone", "name", _zones(drawing)), ("mark", "post", _marks(drawing))):
            here = data["camera"][number].get(key, [])
            blocks = _changed(blocks, number, key, naming, here, wanted)
            data["camera"][number][key] = [one.values for one in _in_order(here, naming, wanted)]
    out = join_blocks(blocks)
    _prove(out, data)
    return out.replace("\n", "\r\n") if "\r\n" in text else out


def _zones(drawing: Drawing) -> list[_Wanted]:
    return [
        _Wanted(zone.was, {"name": zone.name, "kind": zone.kind, "outline": [list(p) for p in zone.outline]})
        for zone in drawing.zones
    ]


def _marks(drawing: Drawing) -> list[_Wanted]:
    return [_Wanted(mark.post, {"post": mark.post, "pixel": list(mark.pixel)}) for mark in drawing.marks]


def _in_order(here: Sequence[Values], naming: str, wanted: Sequence[_Wanted]) -> list[_Wanted]:
    """Those that come from the file in the order of the file, then the new ones."""
    known = [table[naming] for table in here]
    old = sorted((one for one in wanted if one.was in known), key=lambda one: known.index(one.was))
    return [*old, *(one for one in wanted if one.was not in known)]


def _changed(
    blocks: list[Block], camera: int, key: str, naming: str, here: Sequence[Values], wanted: list[_Wanted]
) -> list[Block]:
    """The blocks with one camera's tables of one kind as wanted."""
    home = _home(blocks, camera)
    ordered = _in_order(here, naming, wanted)
    if here == [one.values for one in ordered]:
        return blocks
    if key in tomlkit.parse(blocks[home].body):
        return [
            *blocks[:home],
            replace(blocks[home], body=_inline(blocks[home].body, key, ordered)),
            *blocks[home + 1 :],
        ]
    return _with_new(
        _with_old(blocks, camera, key, naming, wanted), camera, key, ordered[_old(ordered, here, naming) :]
    )


def _old(ordered: Sequence[_Wanted], here: Sequence[Values], naming: str) -> int:
    known = {table[naming] for table in here}
    return sum(one.was in known for one in ordered)


def _home(blocks: Sequence[Block], camera: int) -> int:
    """Where the header of the camera stands."""
    return [n for n, block in enumerate(blocks) if block.keys == ("camera",)][camera]


def _owned(blocks: Sequence[Block], camera: int, key: str) -> list[int]:
    """Blocks of the camera's tables `[[camera.key]]`: each belongs to the last camera above it."""
    owner, found = -1, []
    for number, block in enumerate(blocks):
        owner += block.keys == ("camera",)
        if owner == camera and block.keys == ("camera", key):
            found.append(number)
    return found


def _with_old(
    blocks: Sequence[Block], camera: int, key: str, naming: str, wanted: Sequence[_Wanted]
) -> list[Block]:
    """Tables that stay are changed where they stand; others go, and leave what is written below them."""
    ours = set(_owned(blocks, camera, key))
    by_name = {one.was: one for one in wanted}
    out: list[Block] = []
    for number, block in enumerate(blocks):
        if number not in ours:
            out.append(block)
            continue
        one = by_name.get(tomlkit.parse(block.body)[naming])
        if one is not None:
            out.append(replace(block, body=_edited(block.body, one.values)))
        else:
            out[-1] = replace(out[-1], body=out[-1].body + trailing_remarks(block.body))
    return out


def _edited(body: str, values: Values) -> str:
    """The lines of a table with some values changed; one that is the same already is not touched."""
    table = tomlkit.parse(body)
    for key, value in values.items():
        if table[key] == value:
            continue
        if isinstance(value, list) and len(table[key]) == len(value):
            _adjust(table[key], value)
        else:
            table[key] = tomlkit.item(value)
    return tomlkit.dumps(table)


def _adjust(array: Any, values: Sequence[Any]) -> None:
    """Change single entries of a list, so that comments between its lines stay."""
    for number, value in enumerate(values):
        if array[number] != value:
            array[number] = value


def _with_new(blocks: list[Block], camera: int, key: str, new: Sequence[_Wanted]) -> list[Block]:
    at = _place(blocks, camera, key)
    for one in new:
        before = blocks[at]
        if not before.text.endswith("\n\n"):
            blocks[at] = replace(before, body=before.body + "\n")
        spacing = "\n" if at + 1 < len(blocks) else ""
        blocks.insert(at + 1, Block(("camera", key), f"[[camera.{key}]]\n", _body(one.values) + spacing))
        at += 1
    return blocks


def _place(blocks: Sequence[Block], camera: int, key: str) -> int:
    """The block after which new tables go: the last of their kind; for marks else the last zone; else the
    camera's own."""
    for kind in (key, "zone"):
        owned = _owned(blocks, camera, kind)
        if owned:
            return owned[-1]
    return _home(blocks, camera)


def _body(values: Values) -> str:
    return tomlkit.dumps(values)


def _inline(body: str, key: str, wanted: Sequence[_Wanted]) -> str:
    """A list of tables that is written on the camera's own lines."""
    camera = tomlkit.parse(body)
    array: Array = tomlkit.array().multiline(True)
    for one in wanted:
        table = tomlkit.inline_table()
        table.update(one.values)
        array.append(table)
    camera[key] = array
    return tomlkit.dumps(camera)


def _prove(text: str, meant: Values) -> None:
    """Read what is about to be written: every value in the file must be what is meant."""
    try:
        read = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        read = {}
    if _without_empty(read) != _without_empty(meant):
        raise SiteError(
            "the site file is laid out in a way that cannot be changed without risk; keep a copy of the "
            "drawing as text and put it into the file by hand."
        )


def _without_empty(data: Values) -> Values:
    """No list of zones and an empty one mean the same."""
    out = copy.deepcopy(data)
    for camera in out.get("camera", []):
        for key in ("zone", "mark"):
            if not camera.get(key, True):
                del camera[key]
    return out
