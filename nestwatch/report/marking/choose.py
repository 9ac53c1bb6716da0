"""The night file read back, and which of its digs get a sheet."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import Any

from nestwatch.errors import NestwatchError
from nestwatch.report.nightfile import FORMAT, NAME

Dig = Mapping[str, Any]

_NEEDED = ("site", "night", "from", "to", "digs", "version")
_DIG_NEEDED = (
    *("rank", "camera", "zone", "from", "to", "call", "likelihood", "stages"),
    *("pixel", "plan_m", "within_m", "tape", "pictures"),
)


def read_night(folder: Path) -> dict[str, Any]:
    """The night file in a night's `folder`; `NestwatchError` with one line where there is none to use."""
    path = folder / NAME
    try:
        document = json.loads(path.read_bytes())
    except FileNotFoundError:
        raise NestwatchError(f"{path}: there is no such night; {_others(folder)}") from None
    except OSError as error:
        raise NestwatchError(f"{path}: cannot be read ({error.strerror}); check who may read it.") from error
    except ValueError:
        raise NestwatchError(f"{path}: is damaged; make it again with nestwatch night.") from None
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise NestwatchError(
            f"{path}: is no night file of the format {FORMAT}; make it with nestwatch night."
        )
    missing = [key for key in _NEEDED if key not in document]
    missing = missing or [key for dig in document["digs"] for key in _DIG_NEEDED if key not in dig]
    if missing:
        raise NestwatchError(f"{path}: has no {missing[0]!r}; make it again with nestwatch night.")
    return document


def chosen_digs(document: Mapping[str, Any], ranks: Collection[int], *, rests: bool) -> list[Dig]:
    """Digs in rank order: those asked for, else all but rests (`rests`: these too).

    Raises `NestwatchError` for a number that the night does not have.
    """
    digs: Sequence[Dig] = document["digs"]
    known = [dig["rank"] for dig in digs]
    for rank in ranks:
        if rank not in known:
            raise NestwatchError(f"the night of {document['night']} has no dig {rank}; {_numbers(known)}")
    return [dig for dig in digs if (dig["rank"] in ranks if ranks else rests or dig["call"] != "rest")]


def _numbers(known: Sequence[int]) -> str:
    if not known:
        return "it has none at all."
    return "its only one is 1." if len(known) == 1 else f"they go from {known[0]} to {known[-1]}."


def _others(folder: Path) -> str:
    nights = sorted(path.parent.name for path in folder.parent.glob(f"*/{NAME}"))
    if not nights:
        return f"watch it first: nestwatch night SITE --date {folder.name}"
    return f"the last one here is {nights[-1]}; or watch it: nestwatch night SITE --date {folder.name}"
