"""What a form sent, as values for the record; what cannot be read is refused in one line. Pure."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from werkzeug.datastructures import MultiDict

from nestwatch.desk.morning.forms import a_text
from nestwatch.errors import EntryError, PageError
from nestwatch.season.when import instant

_NUMBER = re.compile(r"[+-]?\d{1,9}([.,]\d{1,6})?")
_COUNT = re.compile(r"-?\d{1,9}")


@dataclass(frozen=True, slots=True)
class Sent:
    """One form as it was sent. Empty fields are None; `zone` is that in which keepers type times."""

    fields: MultiDict[str, str]
    zone: ZoneInfo

    @property
    def sure(self) -> bool:
        """Whether the keeper says that something unlikely is so."""
        return self.fields.get("sure") == "1"

    def text(self, name: str) -> str | None:
        """A text without its outer spaces. Raises `PageError`."""
        return a_text(self.fields, name)

    def needed(self, name: str, why: str) -> str:
        """A text that must be there; `why` says what to do where it is not."""
        text = self.text(name)
        if text is None:
            raise EntryError(why)
        return text

    def several(self, name: str) -> tuple[str, ...]:
        """All values of a field that may be ticked more than once."""
        return tuple(dict.fromkeys(self.fields.getlist(name)))

    def number(self, name: str, what: str) -> float | None:
        """A number with a decimal point or comma. `what`: its name in the message. Raises `EntryError`."""
        text = self.text(name)
        if text is None:
            return None
        if not _NUMBER.fullmatch(text):
            raise EntryError(f'{what}: "{text}" is no number; write it as 28.4.')
        return float(text.replace(",", "."))

    def count(self, name: str, what: str) -> int | None:
        """A whole number; whether there can be so many is for the record. Raises `EntryError`."""
        text = self.text(name)
        if text is None:
            return None
        if not _COUNT.fullmatch(text):
            raise EntryError(f'{what}: "{text}" is no whole number; correct it.')
        return int(text)

    def row(self, name: str) -> int:
        """A number that the page itself sends: of an entry, or its version. Raises `PageError`."""
        text = self.fields.get(name, "")
        if not re.fullmatch(r"\d{1,15}", text):
            raise PageError(f'"{name}" is not readable; load the page again.')
        return int(text)

    def when(self, name: str) -> datetime | None:
        """A time as typed, in the site's own time. Raises `EntryError`."""
        text = self.text(name)
        return None if text is None else instant(text, self.zone)
