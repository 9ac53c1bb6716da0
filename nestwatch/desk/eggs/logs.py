"""Loggers' files: read as the command reads them, and held while the keeper is asked about one."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from threading import Lock
from typing import cast

from nestwatch.desk.eggs.forms import Sent
from nestwatch.desk.eggs.wording import CHOICES, asked
from nestwatch.errors import EntryError
from nestwatch.season.incubation.logger import columns, text
from nestwatch.season.incubation.logger.read import read_log
from nestwatch.season.incubation.logger.records import Choices, Decimal, Order, Unit
from nestwatch.season.incubation.readings import take_log
from nestwatch.season.open import Record
from nestwatch.site.records import Site

LARGEST_FILE = 20 * 1024 * 1024
"""Bytes; a reading a minute over a whole incubation has about 5 MB."""
MOST_HELD = 4
SHOWN_LINES = 6


@dataclass(frozen=True, slots=True)
class HeldFile:
    """A file that was sent. `key`: by which the page names it when it sends an answer."""

    key: str
    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class Question:
    """What a file does not say. `option`: which of `wording.FIELDS` it asks for, None where a doubt is to be
    confirmed. `answers`: (value, words), () where it is to be typed. `lines`: the file's first ones."""

    file: HeldFile
    option: str | None
    answers: tuple[tuple[str, str], ...]
    lines: tuple[str, ...]


class Asked(EntryError):
    """A file could not be taken in as it is. `why`: the error of the record; `question`: what would help."""

    def __init__(self, why: EntryError, question: Question) -> None:
        super().__init__(str(why))
        self.why, self.question = why, question


class Held:
    """The last few files in memory, so that an answer needs no second choosing. Safe across threads."""

    def __init__(self) -> None:
        self._files: dict[str, HeldFile] = {}
        self._lock = Lock()

    def keep(self, name: str, content: bytes) -> HeldFile:
        """Hold a file; the oldest goes where there are too many."""
        made = HeldFile(secrets.token_urlsafe(16), name, content)
        with self._lock:
            self._files[made.key] = made
            while len(self._files) > MOST_HELD:
                self._files.pop(next(iter(self._files)))
        return made

    def get(self, key: str) -> HeldFile:
        """A file by its key. Raises `EntryError` where it is held no more."""
        with self._lock:
            found = self._files.get(key)
        if found is None:
            raise EntryError("the file is not held any more; choose it again.")
        return found


def take_file(record: Record, site: Site, sent: Sent, file: HeldFile) -> None:
    """Take a file's readings in for the probe named in the form. Raises `Asked` for what it leaves open."""
    probe = sent.needed("probe", "say which probe the readings are of.")
    try:
        log = read_log(file.content, record.zone, record.clock(), _choices(sent))
        take_log(record, site, probe, log, file.name, sure=sent.sure)
    except EntryError as error:
        raise Asked(error, _question(file, str(error))) from error


def _choices(sent: Sent) -> Choices:
    return Choices(
        order=cast(Order | None, _one_of(sent, "order")),
        unit=cast(Unit | None, _one_of(sent, "unit")),
        decimal=cast(Decimal | None, _one_of(sent, "decimal")),
        clock=sent.text("clock"),
        column=sent.text("column"),
        humidity_column=sent.text("humidity-column"),
    )


def _one_of(sent: Sent, option: str) -> str | None:
    """An answer that the page offers, None for any other."""
    value = sent.text(option)
    return value if value in CHOICES[option] else None


def _question(file: HeldFile, words: str) -> Question:
    option = asked(words)
    lines = tuple(line[:120] for line in _text(file).splitlines()[:SHOWN_LINES])
    return Question(file, option, _answers(file, option, words), lines)


def _answers(file: HeldFile, option: str | None, words: str) -> tuple[tuple[str, str], ...]:
    if option in {"column", "humidity-column"}:
        return tuple((str(n), f"{n}: {name}") for n, name in enumerate(_headings(file), start=1))
    known = CHOICES.get(option or "", {})
    told = {value: said for value, said in known.items() if f"--{option} {value}" in words}
    return tuple((told or known).items())


def _headings(file: HeldFile) -> Sequence[str]:
    """The columns by their headings, else by what stands in the first line with a reading."""
    try:
        lines, _ = text.fields(_text(file))
    except EntryError:
        return ()
    start = next((k for k, (_, parts) in enumerate(lines) if columns.stamp_columns(parts)), 0)
    return columns.header_before(lines, start) or lines[start][1]


def _text(file: HeldFile) -> str:
    try:
        return text.decoded(file.content)
    except EntryError:
        return ""
