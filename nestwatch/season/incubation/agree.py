"""A clutch that is changed must still agree with its eggs in boxes and with what became of them."""

from __future__ import annotations

from nestwatch.errors import EntryError
from nestwatch.season.instants import read
from nestwatch.season.open import Record
from nestwatch.season.records import Clutch


def check_agrees(record: Record, clutch: Clutch) -> None:
    """Raises `EntryError` for fewer eggs than lie in boxes, or laying after an egg was boxed or settled."""
    row = record.row(
        "SELECT count(*) AS boxed, min(egg.put_at) AS put, min(hatching.at) AS settled FROM egg "
        "LEFT JOIN hatching ON hatching.egg = egg.id WHERE egg.clutch = ?",
        (clutch.id,),
    )
    if row is None or not row["boxed"]:
        return
    total = clutch.eggs.total
    if total is not None and total < row["boxed"]:
        raise EntryError(
            f"{row['boxed']} eggs of this clutch lie in boxes, so it cannot have {total}; mend that first "
            "(nestwatch undo SITE --list)."
        )
    for text, what in ((row["put"], "put into a box"), (row["settled"], "settled")):
        at = read(text)
        if at is not None and at < clutch.laid_at:
            raise EntryError(
                f"an egg of this clutch was {what} on {at.astimezone(record.zone):%Y-%m-%d %H:%M}, before it "
                "would be laid; change one of the times."
            )
