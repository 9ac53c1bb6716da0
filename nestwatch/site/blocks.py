"""The site file's text cut at its table headers, so that one table can be changed and no other touched.

TOML libraries hang the comment lines above a header on the table before it; taking a zone out would then take
the next zone's comment with it. Here comment lines that touch a header from above belong to that header.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass

Keys = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Block:
    """One table: `keys` of its header (() before the first header), `head` its comment lines and header,
    `body` everything up to the next block's head. Both end in a line break, or are empty."""

    keys: Keys
    head: str
    body: str

    @property
    def text(self) -> str:
        """The block as it stands in the file."""
        return self.head + self.body


def split_blocks(text: str) -> list[Block]:
    """Cut valid TOML into blocks; their texts joined are the text again."""
    lines = _lines(text)
    headers = [number for number, line in enumerate(lines) if _is_header(lines, number, line)]
    tops = [_top(lines, number) for number in headers]
    blocks = [Block((), "", "".join(lines[: tops[0] if tops else len(lines)]))]
    for number, top, end in zip(headers, tops, [*tops[1:], len(lines)], strict=True):
        head, body = "".join(lines[top : number + 1]), "".join(lines[number + 1 : end])
        blocks.append(Block(_keys(lines[number]), head, body))
    return blocks


def join_blocks(blocks: Sequence[Block]) -> str:
    """The text of a whole file."""
    return "".join(block.text for block in blocks)


def trailing_remarks(body: str) -> str:
    """What stands below a table's last key: comments and the blank lines around them, "" without any."""
    lines = _lines(body)
    end = len(lines)
    while end and _is_remark(lines[end - 1]):
        end -= 1
    rest = "".join(lines[end:])
    return rest if rest.strip() else ""


def _lines(text: str) -> list[str]:
    """Lines with their ends. Unlike `str.splitlines` only at line feeds, as TOML has it."""
    return re.findall(r"[^\n]*\n|[^\n]+", text)


def _is_header(lines: Sequence[str], number: int, line: str) -> bool:
    """A line in brackets, and not one in the middle of a list or of a text over several lines."""
    return line.lstrip().startswith("[") and _is_whole("".join(lines[:number]))


def _is_whole(text: str) -> bool:
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return False
    return True


def _top(lines: Sequence[str], header: int) -> int:
    """The first of the comment lines that touch a header from above."""
    while header and lines[header - 1].lstrip().startswith("#"):
        header -= 1
    return header


def _is_remark(line: str) -> bool:
    return not line.strip() or line.lstrip().startswith("#")


def _keys(header: str) -> Keys:
    """The dotted name in a header, quoted parts and blanks included."""
    inside, keys = tomllib.loads(header), []
    while inside:
        key, value = next(iter(inside.items()))
        keys.append(key)
        inside = value[0] if isinstance(value, list) else value
    return tuple(keys)
