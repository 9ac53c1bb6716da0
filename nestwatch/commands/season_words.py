"""The season's tally as text for the terminal: the main things in words, then tables."""

from __future__ import annotations

import io
import shutil
from collections.abc import Iterable, Iterator, Sequence

from nestwatch.season.tally.page import told
from nestwatch.season.tally.page.days import day_list, day_span, short_day
from nestwatch.season.tally.records import By, FemaleSeason, Hatch, Row, Season
from nestwatch.season.telling import plural

WIDTH, NARROWEST = 100, 92
"""Of the tables where the terminal's is not known; they are never narrower than the second, lest figures are
lost."""
_HEADS: dict[By, str] = {
    "female": "Female",
    "pen": "Pen",
    "zone": "Zone",
    "hour": "Hour",
    "week": "Week from",
    "temperature": "Night",
    "rain": "Night",
}
_COUNTS = ("Attempts", "Nests", "Trials", "Open", "Eggs", "Hatched", "Pending")
_SEEN = ("Nights\nseen", "Hours\nseen", "Per\n10 h")
"""`Per 10 h`: attempts in ten hours that were seen."""


def season_text(season: Season) -> str:
    """Everything, the main things in the first lines."""
    return "\n".join([*_first_lines(season), *_tables(season), *_mistakes(season), *_notes(season)])


def _first_lines(season: Season) -> Iterator[str]:
    yield f"{season.site} {season.year}: {told.headline(season)}"
    yield told.kinds(season)
    yield " ".join([told.counted_nights(season.nights), *told.not_seen(season.nights)])
    yield _due(season.females)
    yield _performance(season)


def _due(females: Sequence[FemaleSeason]) -> str:
    now, later = told.due_now(females), told.due_later(females)
    if not females:
        return "No female is on record, so nobody can be told to be due."
    first = f"Due now: {'; '.join(now)}." if now else "No female is due now."
    return f"{first} Later: {'; '.join(later)}." if later else first


def _performance(season: Season) -> str:
    seen = season.performance
    false = plural(len(seen.false), "dig")
    if not seen.recall.of:
        return "No nest of a scanned night is known yet, so what nestwatch finds here cannot be told."
    return (
        f"Of the nests you know of, nestwatch listed {told.share(seen.recall)}. {false} that it called a "
        f"nest held none, {seen.unsettled} nobody has dug up."
    )


def _tables(season: Season) -> Iterator[str]:
    for by, head in _HEADS.items():
        rows = season.groups.get(by, ())
        if len(rows) > 1:
            yield from ("", _group(head, rows, season.total))
    if season.females:
        yield from ("", _females(season.females))
    if season.nights.cameras:
        cells = [
            (
                each.camera,
                each.pen or "none",
                str(each.nights),
                told.hours_figure(each.read_h),
                told.hours_figure(each.expected_h),
            )
            for each in season.nights.cameras
        ]
        heads = ("Camera", "Pen", "Nights\nseen", "Hours\nseen", "Of")
        yield from ("", _table(heads, cells, words=2))


def _group(head: str, rows: Sequence[Row], total: Row) -> str:
    """Rows of one group; what was seen only where the group has such a measure."""
    measured = any(row.hours is not None for row in rows)
    heads = (head, *_COUNTS, *(_SEEN if measured else ()))
    cells = [(row.name or "not known", *_counts(row), *(_seen(row) if measured else ())) for row in rows]
    cells.append(("all", *_counts(total), *(_seen(total) if measured else ())))
    return _table(heads, cells)


def _counts(row: Row) -> tuple[str, ...]:
    numbers = (row.attempts, row.nests, row.trials, row.open)
    return (*map(str, numbers), _eggs(row.hatch), _hatched(row), str(row.hatch.pending))


def _eggs(hatch: Hatch) -> str:
    return "?" if hatch.eggs is None else str(hatch.eggs)


def _hatched(row: Row) -> str:
    share = row.hatched
    return "–" if share.share is None else f"{100 * share.share:.0f} % of {share.of}"


def _seen(row: Row) -> tuple[str, ...]:
    rate = row.per_ten_hours
    nights = "–" if row.nights is None else str(row.nights)
    return (
        nights,
        "–" if row.hours is None else told.hours_figure(row.hours),
        "–" if rate is None else f"{rate:.2f}",
    )


def _females(females: Sequence[FemaleSeason]) -> str:
    return _table(
        ("Female", "Clutches", "Eggs", "Days between", "Another may come"), map(_female, females), words=5
    )


def _female(each: FemaleSeason) -> tuple[str, ...]:
    due = "none expected" if each.due is None else day_span(*each.due)
    now = " (now)" if each.is_due else ""
    return (
        each.name,
        ", ".join(map(short_day, each.clutches)) or "none",
        "?" if each.eggs is None else str(each.eggs),
        ", ".join(map(str, each.days_between)) or "–",
        f"{due}{now}: {each.why}",
    )


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]], *, words: int = 1) -> str:
    """Text with aligned columns, the first `words` of them to the left, numbers to the right."""
    # Imported here: `nestwatch --help` should not wait for it.
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0))
    for number, head in enumerate(heads):
        is_last_text = number == words - 1 > 0
        table.add_column(head, justify="left" if number < words else "right", no_wrap=not is_last_text)
    for row in rows:
        table.add_row(*map(Text, row))
    file = io.StringIO()
    width = max(NARROWEST, shutil.get_terminal_size((WIDTH, 24)).columns)
    Console(file=file, width=width, color_system=None).print(table)
    return "\n".join(line.rstrip() for line in file.getvalue().splitlines() if line.strip())


def _mistakes(season: Season) -> Iterator[str]:
    seen = season.performance
    if seen.missed or seen.false:
        yield ""
    if seen.missed:
        yield f"Nests that no scan listed: {told.labelled(seen.missed)}."
    if seen.false:
        yield f"Called a nest and none: {told.labelled(seen.false)}."


def _notes(season: Season) -> Iterator[str]:
    if season.nights.unseen_nights:
        yield from ("", f"Nights not seen: {day_list(season.nights.unseen_nights)}.")
    yield from (f"Note: {note}" for note in season.notes)
