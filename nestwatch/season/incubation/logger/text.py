"""Bytes to lines of fields: the encoding and the delimiter."""

from __future__ import annotations

import codecs
import csv
import re

from nestwatch.errors import EntryError
from nestwatch.season.incubation.logger.dates import IS_DATE, stamp

_DELIMITERS = ("\t", ";", "|", ",")
_NAMES = {"\t": "tabs", ";": "semicolons", "|": "bars", ",": "commas", " ": "spaces"}
_DATED = re.compile(r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}")

Line = tuple[int, list[str]]


def decoded(content: bytes) -> str:
    """UTF-8, UTF-16 with its mark, else the Windows letters of western Europe."""
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return content.decode("utf-16", errors="replace")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = content.decode("cp1252", errors="replace")
    if "\0" in text:
        raise EntryError("this is no text file; export the readings as CSV (text with a separator).")
    return text


def fields(text: str) -> tuple[list[Line], str]:
    """(line number from 1, stripped fields) of every line that is not empty, and the delimiter's name.

    The delimiter is the first of tab, semicolon, bar and comma that sets the date apart in most lines with
    one; spaces where there is none. Raises `EntryError` where no line holds a date.
    """
    lines = text.splitlines()
    dated = [line for line in lines if _DATED.search(line)]
    if not dated:
        raise EntryError(
            "no line holds a date such as 2026-06-13; export date, time and temperature for every reading."
        )
    mark = next((d for d in _DELIMITERS if sum(_parts(line, d) for line in dated) > len(dated) / 2), " ")
    found = [(number, _split(line, mark)) for number, line in enumerate(lines, start=1)]
    return [(number, parts) for number, parts in found if any(parts)], _NAMES[mark]


def _parts(line: str, mark: str) -> bool:
    """Whether a mark sets the date apart; a decimal comma in a line parted by spaces does not."""
    return mark in line and any(
        stamp(part) is not None or IS_DATE.fullmatch(part) for part in _split(line, mark)
    )


def _split(line: str, mark: str) -> list[str]:
    if mark == " ":
        return line.split()
    return [part.strip() for part in next(csv.reader([line], delimiter=mark), [])]
