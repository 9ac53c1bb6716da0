"""Times as keepers type them.

Clock changes: EU directive 2000/84/EC, the last Sundays of March and October at 01:00 UTC.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from nestwatch.errors import EntryError
from nestwatch.season.when import instant

PARIS = ZoneInfo("Europe/Paris")
NIGHT = date(2026, 6, 12)


@pytest.mark.parametrize(
    ("text", "night", "wanted"),
    [
        ("22:10", NIGHT, (2026, 6, 12, 20, 10)),
        ("12:00", NIGHT, (2026, 6, 12, 10, 0)),
        ("7:30", NIGHT, (2026, 6, 13, 5, 30)),
        ("2026-06-13 07:30", None, (2026, 6, 13, 5, 30)),
        ("2026-06-13T07:30", NIGHT, (2026, 6, 13, 5, 30)),
        ("2026-06-13 07:30Z", None, (2026, 6, 13, 7, 30)),
        ("02:30+02:00", date(2026, 10, 24), (2026, 10, 25, 0, 30)),
        ("02:30+01:00", date(2026, 10, 24), (2026, 10, 25, 1, 30)),
    ],
)
def test_times(text: str, night: date | None, wanted: tuple[int, ...]) -> None:
    assert instant(text, PARIS, night) == datetime(*wanted, tzinfo=UTC)  # type: ignore[misc, arg-type]


@pytest.mark.parametrize(
    ("text", "night", "words"),
    [
        (
            "half past ten",
            NIGHT,
            '"half past ten" is no time; write 22:10, or with its day 2026-06-13 07:30.',
        ),
        ("25:10", NIGHT, '"25:10" is no time that exists; write 22:10, or 2026-06-13 07:30.'),
        (
            "2026-02-30 10:00",
            None,
            '"2026-02-30 10:00" is no time that exists; write 22:10, or 2026-06-13 07:30.',
        ),
        ("07:30", None, '"07:30" needs its day, such as 2026-06-13 07:30.'),
        (
            "02:30",
            date(2026, 10, 24),
            '"02:30" came twice when the clocks went back; add +02:00 for the first or +01:00 for the second '
            "time.",
        ),
        (
            "02:30",
            date(2026, 3, 28),
            '"02:30" was skipped when the clocks went forward; give the time after it.',
        ),
    ],
)
def test_times_that_are_none(text: str, night: date | None, words: str) -> None:
    with pytest.raises(EntryError) as caught:
        instant(text, PARIS, night)
    assert str(caught.value) == words
